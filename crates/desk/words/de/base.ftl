# Diese Texte sind maschinell gemacht und nicht durchgesehen.
skip = Zum Inhalt
nav = Orte
nav-today = Heute
invented = Alles hier ist erfunden: eine Vorführung.
label-first = Das Etikett des Produkts, die örtlichen Vorschriften und befugte Fachleute gehen allem auf dieser Seite vor.
error-missing = Diese Seite gibt es nicht
error-unusable = Das ließ sich nicht verwenden
error-forbidden = Dafür braucht es eine andere Rolle
error-book = Das Buch antwortet nicht
error-back = Zurück zu Heute
date-day = { $day }. { $month }
date-day-year = { $day }. { $month } { $year }
month-1 = Januar
month-2 = Februar
month-3 = März
month-4 = April
month-5 = Mai
month-6 = Juni
month-7 = Juli
month-8 = August
month-9 = September
month-10 = Oktober
month-11 = November
month-12 = Dezember
ago-minutes = { $n ->
    [0] eben jetzt
    [one] vor einer Minute
   *[other] vor { $n } Minuten
}
ago-hours = { $n ->
    [one] vor einer Stunde
   *[other] vor { $n } Stunden
}
ago-days = { $n ->
    [one] vor einem Tag
   *[other] vor { $n } Tagen
}
in-minutes = { $n ->
    [one] in einer Minute
   *[other] in { $n } Minuten
}
in-hours = { $n ->
    [one] in einer Stunde
   *[other] in { $n } Stunden
}
in-days = { $n ->
    [one] in einem Tag
   *[other] in { $n } Tagen
}
ph = pH-Wert
free-chlorine = Freies Chlor
combined-chlorine = Gebundenes Chlor
total-chlorine = Gesamtchlor
total-bromine = Gesamtbrom
total-alkalinity = Gesamtalkalität
calcium-hardness = Calciumhärte
total-hardness = Gesamthärte
cyanuric-acid = Cyanursäure
salt = Salz
borate = Borat
phosphate = Phosphat
iron = Eisen
copper = Kupfer
dissolved-solids = Gelöste Stoffe
conductivity = Leitfähigkeit
redox = Redoxspannung
turbidity = Trübung
temperature = Temperatur
saturation-index = Sättigungsindex
status-below = um { $by } unter seinem Bereich
status-above = um { $by } über seinem Bereich
status-inside = im Bereich
status-perhaps-below = im Bereich, vielleicht darunter
status-perhaps-above = im Bereich, vielleicht darüber
status-either = im Bereich oder jenseits einer der Grenzen
status-assumed = angenommen, nicht gemessen
error-missing-advice = Die Adresse ist vielleicht vertippt, oder was hier stand, ist nicht mehr da. Im Buch hat sich nichts geändert.
error-unusable-advice = Es wurde nichts eingetragen. Gehen Sie zurück, ändern Sie, was oben steht, und senden Sie es noch einmal.
error-forbidden-advice = Ihre Rolle erlaubt das nicht. Wer leitet, kann Ihnen unter Personen eine andere geben.
error-book-advice = Was schon bestätigt wurde, ist bewahrt. Versuchen Sie es gleich noch einmal; bleibt es so, sehen Sie ins Protokoll des Servers.
colon = {": "}
range-to = { $low } bis { $high }
