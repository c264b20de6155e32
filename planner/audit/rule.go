package audit

// Rule names something that every plan must keep to.
type Rule string

// The rules.
const (
	Buckets     Rule = "buckets"
	Complete    Rule = "complete"
	Finite      Rule = "finite"
	Hours       Rule = "hours"
	HoursSum    Rule = "hours-sum"
	LineState   Rule = "line-state"
	Start       Rule = "start"
	Stay        Rule = "stay"
	LinesToRun  Rule = "lines-to-run"
	Rate        Rule = "rate"
	RunPellets  Rule = "run-pellets"
	Die         Rule = "die"
	Setup       Rule = "set-up"
	Dies        Rule = "dies"
	Fitters     Rule = "fitters"
	Crew        Rule = "crew"
	Pins        Rule = "pins"
	Changes     Rule = "changes"
	Loads       Rule = "loads"
	LeadTime    Rule = "lead-time"
	Arrivals    Rule = "arrivals"
	Yard        Rule = "yard"
	Draws       Rule = "draws"
	Recipe      Rule = "recipe"
	Steps       Rule = "steps"
	Pellets     Rule = "pellets"
	Shortfall   Rule = "shortfall"
	RegrindRule Rule = "regrind"
	Space       Rule = "space"
	Cover       Rule = "cover"
	Demand      Rule = "demand"
	Rack        Rule = "rack"
	Orders      Rule = "orders"
	NeedHave    Rule = "need-have"
	Shortages   Rule = "shortages"
	OrderBy     Rule = "order-by"
	Answers     Rule = "answers"
	Costs       Rule = "costs"
	Objective   Rule = "objective"
	Margin      Rule = "margin"
)

// rules are all rules with what they say, in the order of the report.
var rules = []struct {
	rule Rule
	says string
}{
	{Buckets, "buckets follow one another without a gap from the plan's start"},
	{Complete, "each line, material, grade, profile and order has one row where it should; codes are known"},
	{Finite, "every number is finite and none is negative that can't be"},
	{Hours, "run + set-up + start-up fit the hours of calendar, closures and outages; none on a line that is off"},
	{HoursSum, "a line's hours are those of its runs"},
	{LineState, "no line is on while it is down or not set up"},
	{Start, "a line that comes on is started, with its hours, pellets and scrap"},
	{Stay, "a line runs and stands for its least days"},
	{LinesToRun, "lines to run are the lines that are on"},
	{Rate, "metres = hours × rate of the line for the profile"},
	{RunPellets, "pellets = good metres' mass + scrap; scrap is that of the quality, of changeovers and of starts"},
	{Die, "what runs has its die on the line, or a changeover brings it on"},
	{Setup, "set-up hours suffice for the best order of the bucket's changeovers"},
	{Dies, "no profile's dies are on more lines than there are dies"},
	{Fitters, "changeovers fit the fitters' hours"},
	{Crew, "lines that are on fit the crew"},
	{Pins, "pins and forbids are kept"},
	{Changes, "changes against the released plan are those there are, and frozen days are kept"},
	{Loads, "loads are whole, as many as the lane gives, ordered when it can be, at its price"},
	{LeadTime, "new loads arrive no sooner than the lane's lead time at the arrival quantile"},
	{Arrivals, "what arrives is committed or ordered, and not before its day"},
	{Yard, "the yard's balance closes from free lots on, and is never negative"},
	{Draws, "only ingredients are fed; pellets made = material taken × yield of its steps"},
	{Recipe, "shares, regrind, HIPS, melt flow rate and recycled content keep to the grade"},
	{Steps, "crushing and pelletizing fit the machines' hours"},
	{Pellets, "the pellets' balance closes from the count on, and is never negative"},
	{Shortfall, "no pellets are missing"},
	{RegrindRule, "the regrind's balance closes: recovered scrap in, fed out, never negative"},
	{Space, "yard, silos and rack hold what is in them"},
	{Cover, "cover is the days that the closing pellets last"},
	{Demand, "demand is the orders and the net forecast; late is what is due and not shipped"},
	{Rack, "the rack's balance closes; no more is shipped than is there, and it is never negative"},
	{Orders, "orders are served by what is shipped: promise, days late and unmet agree"},
	{NeedHave, "need against have adds up, and committed supply can give what it says"},
	{Shortages, "shortages are those that need against have shows"},
	{OrderBy, "order-by dates are the latest that arrive at the service level; landed cost is right"},
	{Answers, "each late order has a reason, worths are of what there is, and what bounds a bucket earns most in it"},
	{Costs, "each cost is what the plan's lists come to at the book's prices"},
	{Objective, "costs add up to the objective; bound and gap fit it"},
	{Margin, "sales, feed and processes are what the plan's lists come to"},
}

// Says is the rule in a sentence; "" for a rule that does not exist.
func (r Rule) Says() string {
	for _, x := range rules {
		if x.rule == r {
			return x.says
		}
	}
	return ""
}

// The tolerances. A plan's numbers are floating-point values of a solver that keeps its rows to about 1e-6
// and takes a value within 1e-6 of a whole number for whole.
const (
	// hoursTolerance, in hours, decides whether hours are overrun: 3.6 s, less than a shift book shows; 1e-6 of a week is 0.6 s.
	hoursTolerance = 1e-3
	// massTolerance, in kilograms, decides whether a mass is right within a bucket: 1e-6 of a truck load is 0.02 kg.
	massTolerance = 0.1
	// massDrift, in kilograms, decides whether a simulated stock is negative or off: the same, gathered over a horizon.
	massDrift = 1.0
	// lengthTolerance, in metres, decides whether a length is right within a bucket: an hour's output times 1e-4 h.
	lengthTolerance = 0.1
	// lengthDrift, in metres, is the same, gathered over a horizon: less than one bar.
	lengthDrift = 1.0
	// peopleTolerance, in people, decides whether the crew is overdrawn.
	peopleTolerance = 1e-6
	// volumeTolerance, in cubic metres, decides whether a space is overfull: ten litres.
	volumeTolerance = 0.01
	// moneyShare decides whether two sums agree: their difference as a share of all that was added up, signs aside.
	moneyShare = 1e-6
	// moneyTolerance, in the plant's currency, is the least difference in a sum that counts.
	moneyTolerance = 0.05
	// priceTolerance, in the plant's currency per kilogram, decides whether a landed cost is right: rounding only.
	priceTolerance = 1e-9
	// dayTolerance, in days, decides whether an arrival is too early or a cover wrong: 0.1 s, as a quantile is rounded.
	dayTolerance = 1e-6
	// coverTolerance, in days, decides whether a cover is right: less than a quarter of an hour.
	coverTolerance = 0.01
	// gapTolerance decides whether a relative gap is the one reported.
	gapTolerance = 1e-6
	// shareTolerance decides whether a share of a grade's feed is the one reported: rounding only.
	shareTolerance = 1e-9
	// shortFrom, in kilograms, is the least cumulative shortage that is reported: half an hour of a line.
	shortFrom = 50.0
)
