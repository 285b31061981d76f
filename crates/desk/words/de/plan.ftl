# Diese Texte sind maschinell gemacht und nicht durchgesehen.
plan-title = Plan für { $tub }
plan-heading = Der Plan
plan-steps = Was zu tun ist, in dieser Reihenfolge
plan-nothing = Nichts ist zu tun.
plan-one-at-a-time = Ein Produkt nach dem anderen. Lesen und befolgen Sie das Etikett jedes Produkts und die örtlichen Vorschriften; niemand ist im Wasser, während etwas zugegeben wird.
plan-what-if = Was wäre wenn?
plan-after = Das Wasser nach allem, wie vorhergesagt
plan-after-why = Wenn alles zugegeben wird, wie es hier steht, und sonst nichts geschieht.
plan-look-again = Wieder nachsehen
plan-look-in = In { $ahead } nach: { $quantities }.
plan-look-then = Dann nach { $times }.
plan-left = Bleibt außerhalb seines Bereichs
plan-not-done = Erwogen und nicht getan
plan-risks = Wie sicher das ist
plan-risk-below = in { $percent } % der Fälle endet es unter seinem Bereich
plan-risk-above = in { $percent } % der Fälle endet es über seinem Bereich
plan-risk-none = kaum je außerhalb seines Bereichs
plan-assumptions = Vorausgesetzt
plan-rules = Andere Regeln, und was dieser Plan tut
plan-done = In den letzten 24 Stunden getan
plan-wait-until = Warten bis { $time } ({ $ahead }).
plan-remade = Der Plan unten wurde von da an neu gemacht.
step-add = { $product } zugeben: { $amount } ({ $mass })
step-add-by-label = { $product } zugeben: { $amount }
step-replace = { $percent } % des Wassers ersetzen: { $amount }
step-circulate = Umwälzen: { $how }
step-wait = Warten: { $how }
step-retest = Nochmals messen: { $what }
step-leave-open = Abdeckung offen lassen: { $how }
step-keep-out = Niemand ins Wasser
step-dissolve = Erst in einem sauberen Eimer mit Wannenwasser auflösen.
step-jets = Düsen an.
step-cover-off = Abdeckung ganz ab.
step-cover-on = Abdeckung zu.
step-until-ph = Aufhören bei pH { $ph }.
step-then-wait = Dann { $time } warten.
step-after = Danach:
step-done-at = Getan { $when }.
step-really-added = Wirklich zugegeben
step-really-replaced = Prozent wirklich ersetzt
step-unit = In
step-when-earlier = Zu anderer Zeit getan?
step-tick = Schritt { $n } ist getan
step-percent-wanted = Prozent des Wassers, das ersetzt wurde: 0 bis 100 wird angenommen.
step-amount-wanted = Wie viel wurde wirklich zugegeben? Mehr als 0 wird angenommen.
step-no-product = Das Produkt fehlt.
step-product-gone = { $product } steht nicht mehr auf dem Regal dieser Wanne: stellen Sie es zurück, oder tragen Sie die Zugabe mit einem anderen Produkt ein.
unit-capfuls = Kappen, gestrichen
unit-scoops = Messlöffel, gestrichen
unit-tablets = Tabletten
unit-grams = Gramm
unit-ounces = Unzen
unit-litres = Liter
unit-gallons = US-Gallonen
span-minutes = { $n ->
    [one] 1 Minute
   *[other] { $n } Minuten
}
span-hours = { $n ->
    [one] 1 Stunde
   *[other] { $n } Stunden
}
span-days = { $n ->
    [one] 1 Tag
   *[other] { $n } Tage
}
form-faults = Das ließ sich noch nicht eintragen:
form-no-number = „{ $text }“ ist keine Zahl; ein Wert wie 7,4 wird angenommen.
form-no-time = „{ $text }“ ist keine Zeit; ein Tag und eine Uhrzeit werden angenommen.
form-wanted = Hier ist ein Wert nötig.
form-when = Wann
form-when-or-now = Wann (jetzt, wenn leer)
what-if = Was wäre wenn?
what-if-title = Was wäre wenn? { $tub }
what-if-lead = Probieren Sie Mengen und Volumen: das Wasser, das daraus würde, bevor etwas zugegeben ist.
what-if-grams = { $product }, Gramm
what-if-foretell = Wasser vorhersagen
what-if-nothing = Ohne Zugabe bleibt das Wasser, wie es ist.
what-if-all = Mit { $what }, alles auf einmal und eingemischt:
what-if-caution = Das sagt vorher, es rät nicht. Nichts hier besagt, dass es sicher ist, so viel auf einmal oder diese zusammen zuzugeben: der Plan geht in sicheren Schritten. Etiketten, örtliche Vorschriften und befugte Fachleute gehen vor; niemand badet, bis eine Messung das Wasser in seinen Bereichen zeigt.
what-if-volume = Das Volumen kann nicht sein; 50 bis 100000 Liter werden angenommen.
what-if-amount = Die Menge kann nicht sein; 0 bis 100000 Gramm werden angenommen.
plan-ahead = Bis zum nächsten Blick, geplant für { $ahead }
plan-ahead-moment = Bis zum nächsten Blick
plan-ahead-not-aimed = Nach dieser Füllung hat noch niemand zweimal nachgesehen: Die Dosen gelten für das Wasser von jetzt.
plan-ahead-aimed = Die Dosen zielen darauf, wohin das Wasser bis dahin geht, soweit dieses Becken es gezeigt hat.
plan-ahead-sooner = Bis zum nächsten Blick, in { $ahead }
plan-ahead-aimed-sooner = Die Dosen zielen darauf, wohin das Wasser von selbst geht, soweit dieses Becken es gezeigt hat.
plan-ahead-stands-on = Das Vorhergesagte beruht auf allen Einträgen seit der Füllung, das Wasser oben auf den letzten Messungen: Beide können sich unterscheiden.
plan-ahead-volume = Geplant für { $volume }: Die Einträge wissen das besser als die eigene Angabe des Beckens.
plan-ahead-cell-from = Die Zelle auf { $to } % stellen (sie steht auf { $from } %), für etwa { $hours } Badestunden am Tag.
plan-ahead-cell = Die Zelle auf { $to } % stellen, für etwa { $hours } Badestunden am Tag.
plan-ahead-cell-from-used = Die Zelle auf { $to } % stellen (sie steht auf { $from } %), für das, was das Becken bisher verbraucht hat.
plan-ahead-cell-used = Die Zelle auf { $to } % stellen, für das, was das Becken bisher verbraucht hat.
plan-ahead-cell-off = Die Zelle bleibt aus, bis das Salz innerhalb ihres Fensters liegt.
plan-ahead-found = { $middle } ({ $low } bis { $high }); mit einer Wahrscheinlichkeit von { $chance } % außerhalb des Bereichs
plan-ahead-found-plain = { $middle } ({ $low } bis { $high })
plan-weeks = Die ersten zwei Wochen
plan-weeks-key = Wann nachzusehen ist, was man wohl finden wird und was es wohl braucht. Erwartete Mengen, keine Dosen: Die Messungen bei jedem Blick machen den Plan neu. Etikett, örtliche Regeln und Fachleute gehen vor.
plan-weeks-in = In { $ahead }
plan-weeks-measure = messen: { $quantities }
plan-weeks-dose = { $product }: { $middle } ({ $low } bis { $high }), das ist { $measure }
plan-weeks-nothing = wohl nichts zuzugeben
plan-weeks-later = { $n ->
    [one] Ein weiterer Termin
   *[other] { $n } weitere Termine
}
