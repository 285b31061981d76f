# Textes faits par une machine et non relus.
login-title = Se connecter
login-name = Nom
login-password = Mot de passe
login-go = Se connecter
login-wrong = Le nom ou le mot de passe est faux.
login-wait = Trop d’essais. Le prochain est possible dans { $seconds } s.
login-failed = Cela n’a pas marché. Réessayez dans un instant.
logout = Se déconnecter
access-title = Accès
access-alone = Seule cette machine atteint ce serveur, et il n’y a pas de compte : qui s’en sert est la seule personne de ce livre. Pour laisser entrer d’autres, créez un compte en ligne de commande.
access-password = Votre mot de passe
access-password-old = Mot de passe actuel
access-password-new = Nouveau mot de passe
access-password-hint = 12 signes ou plus. Quelques mots sans rapport entre eux se retiennent le mieux.
access-password-go = Le changer
access-password-done = Le mot de passe est changé. Tout autre navigateur a été déconnecté.
access-sessions = Autres navigateurs
access-sessions-hint = Une session finit 7 jours après son dernier usage, et 30 jours après la connexion.
access-sessions-go = Déconnecter les autres
access-sessions-done = { $n ->
    [0] Aucun autre navigateur n’était connecté.
    [one] Un autre navigateur a été déconnecté.
   *[other] { $n } autres navigateurs ont été déconnectés.
}
access-tokens = Jetons pour scripts
access-tokens-hint = Un jeton laisse un script utiliser l’interface en votre nom. Qui l’a peut ce que vous pouvez : gardez-le comme un mot de passe.
access-tokens-none = Il n’y a pas de jeton.
access-token-name = À quoi il sert
access-token-days = Jours jusqu’à sa fin
access-token-reads = Il ne peut que lire
access-token-go = Faire un jeton
access-token-made = Voici le jeton. Il est montré cette seule fois ; ce qui en est gardé ici ne permet pas de le retrouver.
access-token-revoke = Révoquer
access-token-reads-only = Ne peut que lire
access-token-all = Peut ce que vous pouvez
access-token-never = jamais utilisé
access-token-used = utilisé { $ago }
access-token-ends = finit le { $day }
access-token-new = Un nouveau jeton
access-api = L’interface, décrite
api-title = L’interface pour scripts
api-lead = Tout ce que montrent les pages peut être demandé, et noté, par des scripts : JSON sur HTTP, dans les mêmes formes qu’en ligne de commande.
api-document = La même chose en document OpenAPI 3.1
api-tokens = Faire un jeton
api-errors = Erreurs
api-errors-text = Chaque erreur est un document de problème (RFC 9457) : type, title, status, detail, et pour chaque faute son champ, ce qui est faux et ce qui est accepté.
api-answers = { $status } :
api-errors-of = Erreurs :
api-takes = Prend
api-needs = Demande le rôle { $role } ou plus
