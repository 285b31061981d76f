why-title = Why { $quantity }? { $tub }
why-heading = { $quantity }: why?
why-figure = { $quantity } is { $value }, 9 times in 10 from { $low } to { $high }.
why-assumed = Nobody read it: it is an assumption.
why-nothing = Nothing is known of { $quantity } in this water.
why-readings = Readings since the last fill
why-no-readings = It was not read since the last fill.
why-older = { $n ->
    [one] An earlier reading that is left out
   *[other] { $n } earlier readings that are left out
}
why-joined = Readings that agree are joined, each by the weight of its error (inverse variances); two by one method share that method's bias. Readings that contradict each other are not averaged: the larger body of independent evidence is kept.
why-read-by = read { $when } as { $figure }, by { $method }.
stands-used = It counts.
stands-void = It is void: the method could not tell anything.
stands-contradicted = Left out: other readings of more weight contradict it.
stands-superseded = Left out: it was read too long before the last one to describe the same water.
why-shift = Doses and replaced water since then change it by { $by }.
why-ph-since = What was dosed and replaced since then is added to the water that was read, and the pH is found again from there.
why-time = The time since then adds ± { $error } to its error (9 times in 10): what happened meanwhile is not known.
why-error = The method's standard error: { $absolute }, and { $percent } % of the figure, besides the rounding to its marks.
why-error-source = Its error is taken from: { $source }.
standing-published = (published)
standing-practice = (common practice)
standing-memory = (from memory)
standing-user = (given by the user)
why-from = It is worked out with:
why-findings = What was found
why-formula = How it is worked out
why-interval = The interval holds the truth 9 times in 10 if the errors are as said: the figure plus and minus 1.645 standard errors.
why-foretold = After a dose
why-foretold-how = A dose adds its substance to the water's totals, exactly: grams, strength, volume. Totals are conserved and add up; one equilibrium solve then gives pH and everything else. The error of the volume ({ $error } %) goes into every change.
why-constants = Constants
why-constants-how = The equilibrium constants that matter most to it, at 25 °C as the source prints them and at { $temperature } as they are used. Outside its range a constant is an extrapolation.
col-reaction = Reaction
col-log-k-25 = log K at 25 °C
col-log-k-here = log K here
col-range = Range
source-read = (read there)
source-quoted = (quoted by { $by })
source-memory = (from memory)
why-band = Its band
why-no-band = It has no band in this tub: nothing is done for it alone.
why-band-edges = From { $low } to { $high }{ $unit }, best from { $aim_low } to { $aim_high }.
why-hard-low = Below { $limit } nobody bathes.
why-hard-high = Above { $limit } nobody bathes.
why-band-source = Who says so: { $source }.
why-band-own = It was set for this tub.
why-also-said = Others say
at-least = at least { $limit }
at-most = at most { $limit }
formula-ph = pH is what the kit read, put right for what the kit itself gets wrong (salt, temperature, chlorine). With the total alkalinity it gives the dissolved carbon; after that only the totals are kept, and pH is found again from them: the charge of all dissolved species must close.
formula-saturation-index = The index is log10 of the ion activity product of calcium and carbonate over calcite's solubility product at the water's temperature: above 0 scale can form, below 0 the water can dissolve it. The activities come from the whole water: ion pairs, ionic strength, pH.
formula-total-alkalinity = Total alkalinity is what acid it takes to bring the water to pH 4.5: carbonate, hydroxide, borate, cyanurate, hypochlorite. The water is sought that would have read so in the kit.
formula-combined-chlorine = Combined chlorine is total chlorine less free chlorine; their errors add as squares.
formula-salt = Salt is chloride counted as sodium chloride, as the kit reads it. If only a conductivity was read, the salt is sought that would make the water conduct so much.
formula-disinfectant = The readings, carried to now by what was dosed since. How fast it is used up is not foretold: its error grows with time instead.
formula-calcium-hardness = Dissolved calcium counted as calcium carbonate. If only the total hardness was read, three quarters of it are taken to be calcium.
formula-reading = The readings, carried to now by what was dosed, topped up and replaced since.
why-light = { $n ->
    [one] One earlier reading that hardly counts
   *[other] { $n } earlier readings that hardly count
}
why-light-how = Each has less than a hundredth of the weight: the time since has made its error that large.
