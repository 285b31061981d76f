# Textes faits par une machine et non relus.
today-title = Aujourd’hui
today-search = Chercher un spa par nom, adresse ou propriétaire
today-search-go = Chercher
today-none = Aucun spa n’est encore dans le livre.
today-none-found = Aucun spa ne répond à ces mots.
today-more = D’autres spas
today-read = mesuré { $ago }
today-due = prochain regard { $ahead }
today-due-since = le regard était dû { $ago }
need-safety = Personne dans l’eau
need-act = Quelque chose à faire
need-test = Mesurer de nouveau
need-rest = Rien à ajouter pour l’instant
today-inside = Tout ce qui a été mesuré est dans sa plage, à l’erreur près.
need-unknown = Pas encore connu
today-begin = Commencez par un : un plan demande son volume, sa désinfection, l’eau qui le remplit et ce qu’il y a sur l’étagère.
today-safety = Personne n’entre dans ces eaux avant qu’une mesure montre qu’on le peut ; chaque plan dit laquelle et pourquoi.
