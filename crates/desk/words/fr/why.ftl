# Textes faits par une machine et non relus.
why-title = Pourquoi { $quantity } ? { $tub }
why-heading = { $quantity } : pourquoi ?
why-figure = { $quantity } vaut { $value }, 9 fois sur 10 entre { $low } et { $high }.
why-assumed = Personne ne l’a mesuré : c’est une supposition.
why-nothing = On ne sait rien de { $quantity } dans cette eau.
why-readings = Mesures depuis le dernier remplissage
why-no-readings = Rien n’en a été mesuré depuis le dernier remplissage.
why-joined = Les mesures qui s’accordent sont réunies, chacune selon le poids de son erreur (variances inverses) ; deux par la même méthode partagent son biais. Celles qui se contredisent ne sont pas moyennées : le plus grand ensemble de preuves indépendantes est gardé.
why-read-by = mesuré { $when } comme { $figure }, par { $method }.
stands-used = Elle compte.
stands-void = Elle est nulle : la méthode n’a rien pu dire.
stands-contradicted = Écartée : d’autres mesures de plus de poids la contredisent.
stands-superseded = Écartée : elle précède de trop loin la dernière pour décrire la même eau.
why-shift = Les ajouts et l’eau remplacée depuis la changent de { $by }.
why-time = Le temps écoulé ajoute ± { $error } à son erreur (9 fois sur 10) : ce qui s’est passé entre-temps n’est pas connu.
why-error = L’erreur type de la méthode : { $absolute }, et { $percent } % de la valeur, outre l’arrondi à ses repères.
why-error-source = Son erreur vient de : { $source }.
standing-published = (publié)
standing-practice = (usage courant)
standing-memory = (de mémoire)
standing-user = (donné par l’utilisateur)
why-from = On le calcule avec :
why-findings = Ce qui a été trouvé
why-formula = Comment on le calcule
why-interval = L’intervalle contient la vérité 9 fois sur 10 si les erreurs sont comme dites : la valeur plus et moins 1,645 erreur type.
why-foretold = Après un ajout
why-foretold-how = Un ajout joint sa substance aux totaux de l’eau, exactement : grammes, force, volume. Les totaux se conservent et s’additionnent ; un calcul d’équilibre donne ensuite le pH et tout le reste. L’erreur du volume ({ $error } %) entre dans chaque changement.
why-constants = Constantes
why-constants-how = Les constantes d’équilibre qui comptent le plus, à 25 °C comme la source les imprime et à { $temperature } comme elles servent. Hors de sa plage, une constante est une extrapolation.
col-reaction = Réaction
col-log-k-25 = log K à 25 °C
col-log-k-here = log K ici
col-range = Plage
source-read = (lu là)
source-quoted = (cité par { $by })
source-memory = (de mémoire)
why-band = Sa plage
why-no-band = Il n’a pas de plage dans ce spa : rien n’est fait pour lui seul.
why-band-edges = De { $low } à { $high }{ $unit }, au mieux de { $aim_low } à { $aim_high }.
why-hard-low = Sous { $limit }, personne ne se baigne.
why-hard-high = Au-dessus de { $limit }, personne ne se baigne.
why-band-source = Qui le dit : { $source }.
why-band-own = Elle a été fixée pour ce spa.
why-also-said = D’autres disent
at-least = au moins { $limit }
at-most = au plus { $limit }
formula-ph = Le pH est ce que la trousse a montré, corrigé de ce qu’elle fausse elle-même (sel, température, chlore). Avec l’alcalinité totale il donne le carbone dissous ; ensuite seuls les totaux sont gardés, et le pH en est retrouvé : la charge de toutes les espèces dissoutes doit s’équilibrer.
formula-saturation-index = L’indice est le log10 du produit d’activité ionique du calcium et du carbonate sur le produit de solubilité de la calcite à la température de l’eau : au-dessus de 0 du tartre peut se former, au-dessous l’eau peut le dissoudre. Les activités viennent de l’eau entière : paires d’ions, force ionique, pH.
formula-total-alkalinity = L’alcalinité totale est l’acide qu’il faut pour amener l’eau à pH 4,5 : carbonate, hydroxyde, borate, cyanurate, hypochlorite. On cherche l’eau qui aurait été lue ainsi dans la trousse.
formula-combined-chlorine = Le chlore combiné est le chlore total moins le chlore libre ; leurs erreurs s’ajoutent en carrés.
formula-salt = Le sel est le chlorure compté en chlorure de sodium, comme la trousse le lit. Si seule une conductivité a été lue, on cherche le sel qui ferait conduire l’eau autant.
formula-disinfectant = Les mesures, ramenées à maintenant par ce qui fut ajouté depuis. La vitesse d’usure n’est pas prévue : à la place, son erreur croît avec le temps.
formula-calcium-hardness = Le calcium dissous compté en carbonate de calcium. Si seule la dureté totale a été lue, trois quarts en sont tenus pour du calcium.
formula-reading = Les mesures, ramenées à maintenant par ce qui fut ajouté, complété et remplacé depuis.
why-older = { $n ->
    [one] Une mesure antérieure, écartée
   *[other] { $n } mesures antérieures, écartées
}
why-ph-since = Ce qui fut ajouté et remplacé depuis s’ajoute à l’eau qui fut mesurée, et le pH en est retrouvé.
why-light = { $n ->
    [one] Une mesure antérieure qui ne compte guère
   *[other] { $n } mesures antérieures qui ne comptent guère
}
why-light-how = Chacune pèse moins d’un centième : le temps passé depuis a rendu son erreur aussi grande.
