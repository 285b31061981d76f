# Textes faits par une machine et non relus.
skip = Aller au contenu
nav = Lieux
nav-today = Aujourd’hui
invented = Tout ici est inventé : une démonstration.
label-first = L’étiquette du produit, les règles locales et les gens de métier agréés passent avant tout ce que dit cette page.
error-missing = Cette page n’existe pas
error-unusable = Cela n’a pas pu servir
error-forbidden = Il faut un autre rôle
error-book = Le livre ne répond pas
error-back = Retour à Aujourd’hui
date-day = { $day } { $month }
date-day-year = { $day } { $month } { $year }
month-1 = janvier
month-2 = février
month-3 = mars
month-4 = avril
month-5 = mai
month-6 = juin
month-7 = juillet
month-8 = août
month-9 = septembre
month-10 = octobre
month-11 = novembre
month-12 = décembre
ago-minutes = { $n ->
    [0] à l’instant
    [one] il y a une minute
   *[other] il y a { $n } minutes
}
ago-hours = { $n ->
    [one] il y a une heure
   *[other] il y a { $n } heures
}
ago-days = { $n ->
    [one] il y a un jour
   *[other] il y a { $n } jours
}
in-minutes = { $n ->
    [one] dans une minute
   *[other] dans { $n } minutes
}
in-hours = { $n ->
    [one] dans une heure
   *[other] dans { $n } heures
}
in-days = { $n ->
    [one] dans un jour
   *[other] dans { $n } jours
}
ph = pH
free-chlorine = Chlore libre
combined-chlorine = Chlore combiné
total-chlorine = Chlore total
total-bromine = Brome total
total-alkalinity = Alcalinité totale
calcium-hardness = Dureté calcique
total-hardness = Dureté totale
cyanuric-acid = Acide cyanurique
salt = Sel
borate = Borate
phosphate = Phosphate
iron = Fer
copper = Cuivre
dissolved-solids = Solides dissous
conductivity = Conductivité
redox = Potentiel redox
turbidity = Turbidité
temperature = Température
saturation-index = Indice de saturation
status-below = sous sa plage de { $by }
status-above = au-dessus de sa plage de { $by }
status-inside = dans sa plage
status-perhaps-below = dans sa plage, peut-être dessous
status-perhaps-above = dans sa plage, peut-être au-dessus
status-either = dans sa plage, ou au-delà d’un des bords
status-assumed = supposé, non mesuré
error-missing-advice = L’adresse est peut-être mal écrite, ou ce qui était ici n’y est plus. Rien n’a changé dans le livre.
error-unusable-advice = Rien n’a été inscrit. Revenez en arrière, changez ce qui est nommé ci-dessus, puis renvoyez.
error-forbidden-advice = Votre rôle ne le permet pas. La direction peut vous en donner un autre sous Personnes.
error-book-advice = Ce qui a été confirmé est gardé. Réessayez dans un moment ; si cela dure, regardez le journal du serveur.
colon = {"\u00A0: "}
range-to = { $low } à { $high }
