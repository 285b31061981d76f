# Textes faits par une machine et non relus.
plan-title = Plan pour { $tub }
plan-heading = Le plan
plan-steps = Que faire, dans cet ordre
plan-nothing = Il n’y a rien à faire.
plan-one-at-a-time = Un produit à la fois. Lisez et suivez l’étiquette de chaque produit et les règles locales ; personne dans l’eau pendant un ajout.
plan-what-if = Et si ?
plan-after = L’eau après tout cela, telle que prévue
plan-after-why = Si tout est ajouté comme écrit ici et que rien d’autre n’arrive.
plan-look-again = Regarder de nouveau
plan-look-in = Dans { $ahead } : { $quantities }.
plan-look-then = Puis après { $times }.
plan-left = Laissé hors de sa plage
plan-not-done = Envisagé et non fait
plan-risks = Avec quelle certitude
plan-risk-below = dans { $percent } % des cas, finit sous sa plage
plan-risk-above = dans { $percent } % des cas, finit au-dessus de sa plage
plan-risk-none = presque jamais hors de sa plage
plan-assumptions = Tenu pour acquis
plan-rules = D’autres règles, et ce que fait ce plan
plan-done = Fait ces dernières 24 heures
plan-wait-until = Attendre jusqu’à { $time } ({ $ahead }).
plan-remade = Le plan ci-dessous a été refait à partir de là.
step-add = Ajouter { $product } : { $amount } ({ $mass })
step-add-by-label = Ajouter { $product } : { $amount }
step-replace = Remplacer { $percent } % de l’eau : { $amount }
step-circulate = Faire circuler : { $how }
step-wait = Attendre : { $how }
step-retest = Mesurer de nouveau : { $what }
step-leave-open = Laisser la couverture ouverte : { $how }
step-keep-out = Personne dans l’eau
step-dissolve = Dissoudre d’abord dans un seau propre d’eau du spa.
step-jets = Jets en marche.
step-cover-off = Couverture tout à fait retirée.
step-cover-on = Couverture en place.
step-until-ph = Arrêter à pH { $ph }.
step-then-wait = Puis attendre { $time }.
step-after = Ensuite :
step-done-at = Fait { $when }.
step-really-added = Vraiment ajouté
step-really-replaced = Pour cent vraiment remplacés
step-unit = En
step-when-earlier = Fait à un autre moment ?
step-tick = L’étape { $n } est faite
step-percent-wanted = Pour cent de l’eau remplacée : 0 à 100 est accepté.
step-amount-wanted = Combien a vraiment été ajouté ? Plus de 0 est accepté.
step-no-product = Le produit manque.
step-product-gone = { $product } n’est plus sur l’étagère de ce spa : remettez-le, ou notez l’ajout avec un autre produit.
unit-capfuls = bouchons, ras
unit-scoops = doseurs, ras
unit-tablets = pastilles
unit-grams = grammes
unit-ounces = onces
unit-litres = litres
unit-gallons = gallons US
span-minutes = { $n ->
    [one] 1 minute
   *[other] { $n } minutes
}
span-hours = { $n ->
    [one] 1 heure
   *[other] { $n } heures
}
span-days = { $n ->
    [one] 1 jour
   *[other] { $n } jours
}
form-faults = Cela n’a pas encore pu être noté :
form-no-number = « { $text } » n’est pas un nombre ; une valeur comme 7,4 est acceptée.
form-no-time = « { $text } » n’est pas un moment ; un jour et une heure sont acceptés.
form-wanted = Il faut une valeur ici.
form-when = Quand
form-when-or-now = Quand (maintenant, si vide)
what-if = Et si ?
what-if-title = Et si ? { $tub }
what-if-lead = Essayez quantités et volumes : l’eau qu’ils feraient, avant tout ajout.
what-if-grams = { $product }, grammes
what-if-foretell = Prévoir l’eau
what-if-nothing = Sans ajout, l’eau reste telle quelle.
what-if-all = Avec { $what }, tout à la fois et mélangé :
what-if-caution = Ceci prévoit, ne conseille pas. Rien ici ne dit qu’il est sûr d’ajouter autant à la fois, ni ceux-ci ensemble : le plan va par étapes sûres. Étiquettes, règles locales et gens de métier agréés passent d’abord ; personne ne se baigne avant qu’une mesure montre l’eau dans ses plages.
what-if-volume = Ce volume ne peut être ; 50 à 100000 litres sont acceptés.
what-if-amount = Cette quantité ne peut être ; 0 à 100000 grammes sont acceptés.
plan-ahead = Jusqu’au prochain contrôle, prévu pour { $ahead }
plan-ahead-moment = Jusqu’au prochain contrôle
plan-ahead-not-aimed = Personne n’a encore contrôlé deux fois ce remplissage : les doses valent pour l’eau du moment.
plan-ahead-aimed = Les doses visent là où l’eau ira d’ici là, autant que ce spa l’a montré.
plan-ahead-sooner = Jusqu’au prochain contrôle, dans { $ahead }
plan-ahead-aimed-sooner = Les doses visent là où l’eau ira d’elle-même, autant que ce spa l’a montré.
plan-ahead-stands-on = Ce qui est prévu repose sur toutes les notes depuis le remplissage, l’eau ci-dessus sur les dernières mesures : les deux peuvent différer.
plan-ahead-volume = Prévu pour { $volume } : les notes le disent mieux que le chiffre du spa lui-même.
plan-ahead-cell-from = Régler la cellule sur { $to } % (elle est à { $from } %), pour environ { $hours } heures de baignade par jour.
plan-ahead-cell = Régler la cellule sur { $to } %, pour environ { $hours } heures de baignade par jour.
plan-ahead-cell-from-used = Régler la cellule sur { $to } % (elle est à { $from } %), pour ce que le bassin a consommé jusqu’ici.
plan-ahead-cell-used = Régler la cellule sur { $to } %, pour ce que le bassin a consommé jusqu’ici.
plan-ahead-cell-off = Laisser la cellule arrêtée jusqu’à ce que le sel soit dans sa fenêtre.
plan-ahead-found = { $middle } ({ $low } à { $high }) ; hors de sa plage avec une probabilité de { $chance } %
plan-ahead-found-plain = { $middle } ({ $low } à { $high })
plan-weeks = Les deux premières semaines
plan-weeks-key = Quand contrôler, ce qu’on trouvera sans doute et ce qu’il faudra sans doute. Des quantités attendues, pas des doses : les mesures de chaque contrôle refont le plan. L’étiquette du produit, les règles locales et les professionnels agréés passent d’abord.
plan-weeks-in = Dans { $ahead }
plan-weeks-measure = mesurer { $quantities }
plan-weeks-dose = { $product } : { $middle } ({ $low } à { $high }), soit { $measure }
plan-weeks-nothing = sans doute rien à ajouter
plan-weeks-later = { $n ->
    [one] Un contrôle de plus
   *[other] { $n } contrôles de plus
}
