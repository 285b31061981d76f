# Diese Texte sind maschinell gemacht und nicht durchgesehen.
today-title = Heute
today-search = Wanne suchen nach Name, Adresse oder Besitzer
today-search-go = Suchen
today-none = Noch steht keine Wanne im Buch.
today-none-found = Zu diesen Wörtern passt keine Wanne.
today-more = Weitere Wannen
today-read = gemessen { $ago }
today-due = nächster Blick { $ahead }
today-due-since = Blick war fällig { $ago }
need-safety = Niemand ins Wasser
need-act = Etwas zu tun
need-test = Nochmals messen
need-rest = Jetzt nichts zuzugeben
today-inside = Alles, was gemessen wurde, liegt im Rahmen seines Fehlers im Bereich.
need-unknown = Noch nicht bekannt
today-begin = Beginnen Sie mit einer: ein Plan braucht ihr Volumen, wie sie desinfiziert wird, ihr Füllwasser und was im Regal steht.
today-safety = Niemand geht in dieses Wasser, bis eine Messung zeigt, dass es geht; jeder Plan sagt, welche und warum.
