# Diese Texte sind maschinell gemacht und nicht durchgesehen.
login-title = Anmelden
login-name = Name
login-password = Passwort
login-go = Anmelden
login-wrong = Name oder Passwort ist falsch.
login-wait = Zu viele Versuche. Der nächste ist in { $seconds } s möglich.
login-failed = Das ging nicht. Versuchen Sie es gleich noch einmal.
logout = Abmelden
access-title = Zugänge
access-alone = Nur dieser Rechner erreicht diesen Server, und es gibt kein Konto: wer ihn benutzt, ist die eine Person dieses Buchs. Um andere hereinzulassen, legen Sie an der Befehlszeile ein Konto an.
access-password = Ihr Passwort
access-password-old = Jetziges Passwort
access-password-new = Neues Passwort
access-password-hint = Mindestens 12 Zeichen. Ein paar Wörter, die nichts miteinander zu tun haben, merkt man sich am leichtesten.
access-password-go = Ändern
access-password-done = Das Passwort ist geändert. Jeder andere Browser wurde abgemeldet.
access-sessions = Andere Browser
access-sessions-hint = Eine Sitzung endet 7 Tage nach der letzten Benutzung und 30 Tage nach der Anmeldung.
access-sessions-go = Die anderen abmelden
access-sessions-done = { $n ->
    [0] Kein anderer Browser war angemeldet.
    [one] Ein anderer Browser wurde abgemeldet.
   *[other] { $n } andere Browser wurden abgemeldet.
}
access-tokens = Schlüssel für Skripte
access-tokens-hint = Ein Schlüssel lässt ein Skript die Schnittstelle in Ihrem Namen benutzen. Wer ihn hat, kann, was Sie können: hüten Sie ihn wie ein Passwort.
access-tokens-none = Es gibt keinen Schlüssel.
access-token-name = Wofür er ist
access-token-days = Tage bis zum Ende
access-token-reads = Er kann nur lesen
access-token-go = Schlüssel machen
access-token-made = Hier ist der Schlüssel. Er wird nur dieses eine Mal gezeigt; was hier davon aufgehoben wird, lässt sich nicht in ihn zurückverwandeln.
access-token-revoke = Widerrufen
access-token-reads-only = Kann nur lesen
access-token-all = Kann, was Sie können
access-token-never = nie benutzt
access-token-used = zuletzt benutzt { $ago }
access-token-ends = endet am { $day }
access-token-new = Ein neuer Schlüssel
access-api = Die Schnittstelle, beschrieben
api-title = Die Schnittstelle für Skripte
api-lead = Alles, was die Seiten zeigen, können auch Skripte abfragen und eintragen: JSON über HTTP, in denselben Formen wie an der Befehlszeile.
api-document = Dasselbe als Dokument nach OpenAPI 3.1
api-tokens = Schlüssel machen
api-errors = Fehler
api-errors-text = Jeder Fehler ist ein Problemdokument (RFC 9457): type, title, status, detail, und zu jedem Mangel sein Feld, was falsch ist und was angenommen wird.
api-answers = { $status }:
api-errors-of = Fehler:
api-takes = Nimmt
api-needs = Braucht die Rolle { $role } oder mehr
