plan-title = Plan for { $tub }
plan-heading = The plan
plan-steps = What to do, in this order
plan-nothing = Nothing is to be done.
plan-one-at-a-time = One product at a time. Read and follow each product's label and the local code; nobody in the water while anything is added.
plan-what-if = What if?
plan-after = The water after all of it, as foretold
plan-after-why = If everything is added as it stands here and nothing else happens meanwhile.
plan-look-again = Look again
plan-look-in = In { $ahead } at { $quantities }.
plan-look-then = Then after { $times }.
plan-left = Left outside its band
plan-not-done = Considered and not done
plan-risks = How sure that is
plan-risk-below = in { $percent } % of cases it ends below its band
plan-risk-above = in { $percent } % of cases it ends above its band
plan-risk-none = hardly ever outside its band
plan-assumptions = Taken for granted
plan-rules = Other rules, and what this plan does
plan-done = Done in the last 24 hours
plan-wait-until = Wait until { $time } ({ $ahead }).
plan-remade = The plan below was made again from there.
step-add = Add { $product }: { $amount } ({ $mass })
step-add-by-label = Add { $product }: { $amount }
step-replace = Replace { $percent } % of the water: { $amount }
step-circulate = Circulate: { $how }
step-wait = Wait: { $how }
step-retest = Test again: { $what }
step-leave-open = Leave the cover open: { $how }
step-keep-out = Keep people out
step-dissolve = Dissolve it in a clean bucket of tub water first.
step-jets = Jets on.
step-cover-off = Cover fully off.
step-cover-on = Cover on.
step-until-ph = Stop at pH { $ph }.
step-then-wait = Then wait { $time }.
step-after = After it:
step-done-at = Done { $when }.
step-really-added = Really added
step-really-replaced = Percent really replaced
step-unit = In
step-when-earlier = Done at another time?
step-tick = Step { $n } is done
step-percent-wanted = Percent of the water that was replaced: 0 to 100 is accepted.
step-amount-wanted = How much was really added? More than 0 is accepted.
step-no-product = The product is missing.
step-product-gone = { $product } is not on this tub's shelf any more: put it back, or record the dose by another product.
unit-capfuls = capfuls, level
unit-scoops = scoops, level
unit-tablets = tablets
unit-grams = grams
unit-ounces = ounces
unit-litres = litres
unit-gallons = US gallons
span-minutes = { $n ->
    [one] 1 minute
   *[other] { $n } minutes
}
span-hours = { $n ->
    [one] 1 hour
   *[other] { $n } hours
}
span-days = { $n ->
    [one] 1 day
   *[other] { $n } days
}
form-faults = This could not be recorded yet:
form-no-number = “{ $text }” is no number; a figure such as 7.4 is accepted.
form-no-time = “{ $text }” is no time; a day and a time are accepted.
form-wanted = A figure is needed here.
form-when = When
form-when-or-now = When (now, if empty)
what-if = What if?
what-if-title = What if? { $tub }
what-if-lead = Try amounts and volumes: the water that they would make, before anything is added.
what-if-grams = { $product }, grams
what-if-foretell = Foretell the water
what-if-nothing = With nothing added the water stays as it is.
what-if-all = With { $what }, all at once and mixed in:
what-if-caution = This foretells, it does not advise. Nothing here says that it is safe to add so much at once, or these together: the plan goes by safe steps. Product labels, the local code and licensed practice come first; nobody bathes until a test shows the water in its bands.
what-if-volume = The volume cannot be; 50 to 100000 litres are accepted.
what-if-amount = The amount cannot be; 0 to 100000 grams are accepted.
plan-ahead = Until the next look, planned for { $ahead }
plan-ahead-moment = Until the next look
plan-ahead-not-aimed = Nobody has looked twice at this fill yet: the doses are for the water of the moment.
plan-ahead-aimed = The doses are aimed at where the water will go until then, as far as this tub has shown it.
plan-ahead-sooner = Until the next look, in { $ahead }
plan-ahead-aimed-sooner = The doses are aimed at where the water will go by itself, as far as this tub has shown it.
plan-ahead-stands-on = What is foreseen stands on all entries since the fill, the water above on the last readings: the two may differ.
plan-ahead-volume = Planned for { $volume }: the entries tell that better than the tub’s own figure.
plan-ahead-cell-from = Set the cell to { $to } % (it is at { $from } %), for about { $hours } person-hours of bathing a day.
plan-ahead-cell = Set the cell to { $to } %, for about { $hours } person-hours of bathing a day.
plan-ahead-cell-from-used = Set the cell to { $to } % (it is at { $from } %), for what the tub has used so far.
plan-ahead-cell-used = Set the cell to { $to } %, for what the tub has used so far.
plan-ahead-cell-off = Leave the cell off until the salt reads inside its window.
plan-ahead-found = { $middle } ({ $low } to { $high }); outside its band with a chance of { $chance } %
plan-ahead-found-plain = { $middle } ({ $low } to { $high })
plan-weeks = The first two weeks
plan-weeks-key = When to look, what will probably be found and what it will probably take. Expected amounts, not doses: the readings of each look make the plan anew. The product’s label, local rules and licensed practice come first.
plan-weeks-in = In { $ahead }
plan-weeks-measure = measure { $quantities }
plan-weeks-dose = { $product }: { $middle } ({ $low } to { $high }), that is { $measure }
plan-weeks-nothing = probably nothing to add
plan-weeks-later = { $n ->
    [one] One more look
   *[other] { $n } more looks
}
