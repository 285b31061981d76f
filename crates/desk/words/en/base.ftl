skip = Skip to the content
nav = Places
nav-today = Today
invented = Everything here is invented: a demonstration.
label-first = The product's label, the local code and licensed practice come before anything on this page.
error-missing = There is no such page
error-unusable = This could not be used
error-forbidden = This needs another role
error-book = The book does not answer
error-back = Back to Today
date-day = { $day } { $month }
date-day-year = { $day } { $month } { $year }
month-1 = January
month-2 = February
month-3 = March
month-4 = April
month-5 = May
month-6 = June
month-7 = July
month-8 = August
month-9 = September
month-10 = October
month-11 = November
month-12 = December
ago-minutes = { $n ->
    [0] just now
    [one] a minute ago
   *[other] { $n } minutes ago
}
ago-hours = { $n ->
    [one] an hour ago
   *[other] { $n } hours ago
}
ago-days = { $n ->
    [one] a day ago
   *[other] { $n } days ago
}
in-minutes = { $n ->
    [one] in a minute
   *[other] in { $n } minutes
}
in-hours = { $n ->
    [one] in an hour
   *[other] in { $n } hours
}
in-days = { $n ->
    [one] in a day
   *[other] in { $n } days
}
ph = pH
free-chlorine = Free chlorine
combined-chlorine = Combined chlorine
total-chlorine = Total chlorine
total-bromine = Total bromine
total-alkalinity = Total alkalinity
calcium-hardness = Calcium hardness
total-hardness = Total hardness
cyanuric-acid = Cyanuric acid
salt = Salt
borate = Borate
phosphate = Phosphate
iron = Iron
copper = Copper
dissolved-solids = Dissolved solids
conductivity = Conductivity
redox = Redox potential
turbidity = Turbidity
temperature = Temperature
saturation-index = Saturation index
status-below = below its band by { $by }
status-above = above its band by { $by }
status-inside = inside
status-perhaps-below = inside, perhaps below
status-perhaps-above = inside, perhaps above
status-either = inside, or beyond either edge
status-assumed = assumed, not read
error-missing-advice = The address may be mistyped, or what stood here has been taken away. Nothing in the book was changed.
error-unusable-advice = Nothing was recorded. Go back, change what is named above, and send it again.
error-forbidden-advice = Your role does not allow this. A lead can give you another under People.
error-book-advice = What was already acknowledged is kept. Try again in a moment; if it stays so, look at the server’s log.
colon = {": "}
range-to = { $low } to { $high }
