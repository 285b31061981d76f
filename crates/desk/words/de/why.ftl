# Diese Texte sind maschinell gemacht und nicht durchgesehen.
why-title = Warum { $quantity }? { $tub }
why-heading = { $quantity }: warum?
why-figure = { $quantity } ist { $value }, 9 von 10 Mal zwischen { $low } und { $high }.
why-assumed = Niemand hat es gemessen: es ist eine Annahme.
why-nothing = Über { $quantity } in diesem Wasser ist nichts bekannt.
why-readings = Messungen seit der letzten Füllung
why-no-readings = Seit der letzten Füllung wurde es nicht gemessen.
why-joined = Messungen, die übereinstimmen, werden zusammengenommen, jede mit dem Gewicht ihres Fehlers (inverse Varianzen); zwei mit derselben Methode teilen deren Abweichung. Messungen, die einander widersprechen, werden nicht gemittelt: die größere Menge unabhängiger Belege bleibt.
why-read-by = gemessen { $when } als { $figure }, mit { $method }.
stands-used = Sie zählt.
stands-void = Sie ist ungültig: die Methode konnte nichts sagen.
stands-contradicted = Weggelassen: andere Messungen von mehr Gewicht widersprechen ihr.
stands-superseded = Weggelassen: sie war zu lange vor der letzten, um dasselbe Wasser zu beschreiben.
why-shift = Zugaben und ersetztes Wasser seither ändern es um { $by }.
why-time = Die Zeit seither fügt dem Fehler ± { $error } hinzu (9 von 10 Mal): was inzwischen geschah, ist nicht bekannt.
why-error = Der Standardfehler der Methode: { $absolute } und { $percent } % des Werts, neben dem Runden auf ihre Marken.
why-error-source = Ihr Fehler stammt aus: { $source }.
standing-published = (veröffentlicht)
standing-practice = (übliche Praxis)
standing-memory = (aus dem Gedächtnis)
standing-user = (vom Benutzer angegeben)
why-from = Es wird berechnet mit:
why-findings = Was gefunden wurde
why-formula = Wie es berechnet wird
why-interval = Der Bereich enthält die Wahrheit 9 von 10 Mal, wenn die Fehler so sind wie gesagt: der Wert plus und minus 1,645 Standardfehler.
why-foretold = Nach einer Zugabe
why-foretold-how = Eine Zugabe fügt ihren Stoff den Summen des Wassers hinzu, genau: Gramm, Stärke, Volumen. Summen bleiben erhalten und addieren sich; eine Gleichgewichtsrechnung ergibt dann den pH-Wert und alles Übrige. Der Fehler des Volumens ({ $error } %) geht in jede Änderung ein.
why-constants = Konstanten
why-constants-how = Die Gleichgewichtskonstanten, die am meisten zählen, bei 25 °C wie von der Quelle gedruckt und bei { $temperature } wie verwendet. Außerhalb ihres Bereichs ist eine Konstante eine Extrapolation.
col-reaction = Reaktion
col-log-k-25 = log K bei 25 °C
col-log-k-here = log K hier
col-range = Bereich
source-read = (dort gelesen)
source-quoted = (zitiert von { $by })
source-memory = (aus dem Gedächtnis)
why-band = Sein Bereich
why-no-band = Es hat in dieser Wanne keinen Bereich: seinetwegen allein wird nichts getan.
why-band-edges = Von { $low } bis { $high }{ $unit }, am besten von { $aim_low } bis { $aim_high }.
why-hard-low = Unter { $limit } badet niemand.
why-hard-high = Über { $limit } badet niemand.
why-band-source = Wer das sagt: { $source }.
why-band-own = Er wurde für diese Wanne gesetzt.
why-also-said = Andere sagen
at-least = mindestens { $limit }
at-most = höchstens { $limit }
formula-ph = Der pH-Wert ist, was das Besteck anzeigte, berichtigt um das, was es selbst verfälscht (Salz, Temperatur, Chlor). Mit der Gesamtalkalität ergibt er den gelösten Kohlenstoff; danach bleiben nur die Summen, und der pH-Wert wird wieder aus ihnen gefunden: die Ladung aller gelösten Stoffe muss sich ausgleichen.
formula-saturation-index = Der Index ist log10 des Ionenaktivitätsprodukts von Calcium und Carbonat über dem Löslichkeitsprodukt von Calcit bei der Temperatur des Wassers: über 0 kann sich Kalk bilden, unter 0 kann das Wasser ihn lösen. Die Aktivitäten kommen aus dem ganzen Wasser: Ionenpaare, Ionenstärke, pH-Wert.
formula-total-alkalinity = Die Gesamtalkalität ist die Säure, die das Wasser auf pH 4,5 bringt: Carbonat, Hydroxid, Borat, Cyanurat, Hypochlorit. Gesucht wird das Wasser, das im Besteck so angezeigt hätte.
formula-combined-chlorine = Gebundenes Chlor ist Gesamtchlor weniger freies Chlor; ihre Fehler addieren sich als Quadrate.
formula-salt = Salz ist Chlorid, als Natriumchlorid gezählt, wie das Besteck es misst. Wurde nur eine Leitfähigkeit gemessen, wird das Salz gesucht, mit dem das Wasser so leiten würde.
formula-disinfectant = Die Messungen, auf jetzt gebracht mit dem, was seither zugegeben wurde. Wie schnell es verbraucht wird, ist nicht vorhergesagt: stattdessen wächst der Fehler mit der Zeit.
formula-calcium-hardness = Gelöstes Calcium, als Calciumcarbonat gezählt. Wurde nur die Gesamthärte gemessen, gelten drei Viertel davon als Calcium.
formula-reading = Die Messungen, auf jetzt gebracht mit dem, was seither zugegeben, nachgefüllt und ersetzt wurde.
why-older = { $n ->
    [one] Eine frühere Messung, die weggelassen ist
   *[other] { $n } frühere Messungen, die weggelassen sind
}
why-ph-since = Was seither zugegeben und ersetzt wurde, kommt zu dem Wasser hinzu, das gemessen wurde, und der pH-Wert wird von dort aus neu gefunden.
why-light = { $n ->
    [one] Eine frühere Messung, die kaum zählt
   *[other] { $n } frühere Messungen, die kaum zählen
}
why-light-how = Jede hat weniger als ein Hundertstel des Gewichts: So groß hat die Zeit seither ihren Fehler gemacht.
