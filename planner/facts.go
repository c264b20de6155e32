package planner

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"feedline/inventory"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/yield"
)

// defaults of Plant and Options fields left at zero.
const (
	defaultWeeks       = 26
	defaultDailyDays   = 14
	defaultQuantile    = 0.8
	defaultService     = 0.95
	lastPriority       = 9    // of an order
	forecastPriority   = 10   // net forecast ranks behind every order
	priorityStep       = 1.25 // a late metre costs this much less with each priority: forecast 0.134 of the first
	targetWeight       = 0.1  // what is missing from a stock target costs this share of a late metre of priority 1: less than any that is late
	endStockShare      = 0.9  // value of what is left at the end, as a share of book value
	daysAYear          = 365.25
	defaultLateADay    = 0.01
	defaultUnmet       = 0.2
	defaultShortPrice  = 50.0 // currency per kg
	pinPricePerHour    = 2000 // currency per hour by which a pin is not kept
	overfullPrice      = 1000 // currency per cubic metre and bucket of an overfull yard or rack
	hoursADay          = 24.0
	quantumHours       = 1e-6 // hours below this are no run: a second is 2.8e-4 h
	quantumMetres      = 1e-4
	quantumKilograms   = 1e-4
	litresPerCubicM    = 1000.0
	minutesPerHour     = 60.0
	openingBucketIndex = -1
)

// facts is an Input made ready to formulate: codes resolved to indices, rates and hours computed
// for every bucket. The indices l, p, k, m, s number Lines, Profiles, Grades, Materials and Lanes of in.
type facts struct {
	in      *Input
	opt     Options
	start   calendar.Day
	buckets []calendar.Bucket

	lineAt, profileAt, gradeAt, materialAt, laneAt map[string]int

	fits     []fit       // line × profile
	fitsOf   [][]int     // fits by line
	fitsBy   [][]int     // fits by profile
	avail    [][]float64 // crewable hours by line and bucket
	openDays []float64   // working days by bucket
	paths    []path      // by material
	regrind  path        // own regrind to pellets
	feeds    []feed      // material × grade
	feedsOf  [][]int     // feeds by grade
	arrivals [][]float64 // kg of material m planned to arrive in bucket t: committed deliveries
	yard0    []float64   // kg of material in free lots
	pellet0  []float64   // kg by grade
	own0     []float64   // kg of own regrind by grade
	rack0    []float64   // m by profile
	classes  [][]class   // demand by profile
	gradeOf  []int       // by profile
	steps    []step
	pins     []pinned
	asks     [][]ask // by line and bucket, what pins ask of it; nil for no pins
}

// fit is a line × profile with its figures.
type fit struct {
	line, profile int
	rate          float64 // good metres per crewed hour
	pelletsPerM   float64 // kg of pellets a good metre
	scrapPerM     float64 // kg of scrap a good metre
	setup         float64 // hours to change to it: the most from any other profile of the line
	fitters       float64 // fitter hours, likewise
	setupScrap    float64 // kg, likewise
	setupCost     float64 // money, likewise, fitters included
}

// path is what a kilogram of a material goes through on its way to pellets.
type path struct {
	yield float64   // kg of pellets per kg
	hours []float64 // machine hours per kg, by step
	cost  float64   // money per kg
}

// feed is a material that a recipe allows for a grade.
type feed struct {
	material, grade    int
	minShare, maxShare float64
}

// step is a pre-process with its machine hours by bucket; unlimited ones have a nil slice.
type step struct {
	code  string
	hours []float64
}

// class is the demand for a profile that shares a priority.
type class struct {
	priority int
	metres   []float64 // due in each bucket
	late     float64   // money a metre and day
	unmet    float64   // money a metre left unmade at the end
	orders   []int     // orders in it, by due date, then code
	total    float64
}

// pinned is a pin with its bucket-wise hours.
type pinned struct {
	pin           Pin
	line, profile int // profile -1 = any
	bucket        int
	hours         float64 // of the bucket's available hours that it covers
}

// gather resolves in. It assumes that Check has passed.
func gather(in *Input, opt Options) *facts {
	return gatherIn(in, opt, Horizon(in, opt))
}

// Horizon is the buckets of a plan of in under opt.
func Horizon(in *Input, opt Options) []calendar.Bucket {
	return calendar.Buckets(StartDay(in, opt), firstOf(opt.DailyDays, in.Plant.DailyDays, defaultDailyDays), firstOf(opt.Weeks, in.Plant.Weeks, defaultWeeks))
}

// gatherIn resolves in for the given buckets, which follow one another.
func gatherIn(in *Input, opt Options, buckets []calendar.Bucket) *facts {
	f := &facts{in: in, opt: opt, start: buckets[0].Span.From, buckets: buckets}
	f.lineAt = numbered(in.Lines, func(l lines.Line) string { return l.Code })
	f.profileAt = numbered(in.Profiles, func(p lines.Profile) string { return p.Code })
	f.gradeAt = numbered(in.Grades, func(g inventory.Grade) string { return g.Code })
	f.materialAt = numbered(in.Materials, func(m inventory.Material) string { return m.Code })
	f.laneAt = numbered(in.Lanes, func(l inventory.Lane) string { return l.Code })
	f.gradeOf = make([]int, len(in.Profiles))
	for p, pr := range in.Profiles {
		f.gradeOf[p] = f.gradeAt[pr.Grade]
	}
	f.gatherHours()
	f.gatherFits()
	f.gatherFeed()
	f.gatherSupply()
	f.gatherDemand()
	f.gatherPins()
	f.gatherAsks()
	return f
}

// StartDay is the first day of a plan of in under opt.
func StartDay(in *Input, opt Options) calendar.Day {
	if opt.Start != 0 {
		return opt.Start
	}
	if z := in.Calendar.Zone; z != nil {
		return calendar.DayOf(opt.Now.In(z))
	}
	return calendar.DayOf(opt.Now.UTC())
}

func firstOf(v ...int) int {
	for _, x := range v {
		if x > 0 {
			return x
		}
	}
	return 0
}

func orDefault(x, d float64) float64 {
	if x > 0 {
		return x
	}
	return d
}

func numbered[T any](list []T, code func(T) string) map[string]int {
	at := make(map[string]int, len(list))
	for i, x := range list {
		at[code(x)] = i
	}
	return at
}

// end is the first day after the horizon.
func (f *facts) end() calendar.Day { return f.buckets[len(f.buckets)-1].Span.To }

// days is the length of bucket t.
func (f *facts) days(t int) float64 { return float64(f.buckets[t].Span.Days()) }

// bucketOf is the bucket that holds d: -1 before the plan, len(buckets) after it.
func (f *facts) bucketOf(d calendar.Day) int {
	if d < f.start {
		return openingBucketIndex
	}
	if t, ok := calendar.BucketOf(f.buckets, d); ok {
		return t
	}
	return len(f.buckets)
}

// gatherHours sets the crewable hours of each line: open hours less outages, none before a down line is back.
func (f *facts) gatherHours() {
	f.avail = make([][]float64, len(f.in.Lines))
	for l, ln := range f.in.Lines {
		f.avail[l] = make([]float64, len(f.buckets))
		for t, b := range f.buckets {
			span := b.Span
			if ln.State == lines.Down {
				span = span.Overlap(calendar.Span{From: ln.DownUntil, To: math.MaxInt32})
			}
			f.avail[l][t] = float64(f.in.Calendar.SpanHours(ln.Code, span))
		}
	}
	f.openDays = make([]float64, len(f.buckets))
	for t, b := range f.buckets {
		for d := b.Span.From; d < b.Span.To; d++ {
			if f.in.Calendar.OpenHours(d) > 0 {
				f.openDays[t]++
			}
		}
	}
}

// gatherFits resolves the rates and the changeovers on to each fit.
func (f *facts) gatherFits() {
	f.fitsOf = make([][]int, len(f.in.Lines))
	f.fitsBy = make([][]int, len(f.in.Profiles))
	sortedFits := slices.SortedFunc(slices.Values(f.in.Fits), func(a, b lines.Fit) int {
		return cmp.Or(cmp.Compare(f.lineAt[a.Line], f.lineAt[b.Line]), cmp.Compare(f.profileAt[a.Profile], f.profileAt[b.Profile]))
	})
	for _, x := range sortedFits {
		p := f.profileAt[x.Profile]
		r := lines.Rate(f.in.Profiles[p], x)
		if r.GoodMetresPerHour <= 0 {
			continue
		}
		ft := fit{line: f.lineAt[x.Line], profile: p, rate: r.GoodMetresPerHour,
			pelletsPerM: float64(r.PelletsPerGoodMetre), scrapPerM: float64(r.ScrapPerGoodMetre)}
		f.fitsOf[ft.line] = append(f.fitsOf[ft.line], len(f.fits))
		f.fitsBy[p] = append(f.fitsBy[p], len(f.fits))
		f.fits = append(f.fits, ft)
	}
	for i := range f.fits {
		f.worstChangeover(&f.fits[i])
	}
}

// worstChangeover sets ft's set-up to the most that changing to it takes: from any other profile of its line, from what is on the
// line at the start, or from nothing. So no sequence within a bucket takes longer than planned.
func (f *facts) worstChangeover(ft *fit) {
	to := f.in.Profiles[ft.profile]
	from := []string{"", f.in.Lines[ft.line].Mounted}
	for _, j := range f.fitsOf[ft.line] {
		from = append(from, f.profileCode(j))
	}
	for _, code := range from {
		if code == to.Code {
			continue
		}
		family := ""
		if p, ok := f.profileAt[code]; ok {
			family = f.in.Profiles[p].DieFamily
		}
		c, ok := lines.ChangeoverBetween(f.in.Changeovers, family, to.DieFamily)
		if !ok {
			continue
		}
		ft.setup = max(ft.setup, float64(c.Hours))
		ft.fitters = max(ft.fitters, float64(c.FitterHours))
		ft.setupScrap = max(ft.setupScrap, float64(c.Scrap))
		ft.setupCost = max(ft.setupCost, float64(c.Cost)+float64(c.FitterHours)*float64(f.in.Plant.FitterCost))
	}
}

// gatherFeed resolves the steps, the path of each material and the recipes.
func (f *facts) gatherFeed() {
	chain := yield.Chain{Steps: f.in.Steps, Overrides: f.in.Overrides}
	for _, s := range f.in.Steps {
		st := step{code: s.Code}
		if s.Rate > 0 {
			st.hours = make([]float64, len(f.buckets))
			for t, b := range f.buckets {
				st.hours[t] = float64(f.in.Calendar.SpanHours(s.Code, b.Span)) * float64(max(1, s.Machines)) * orDefault(float64(s.Availability), 1)
			}
		}
		f.steps = append(f.steps, st)
	}
	for _, m := range f.in.Materials {
		f.paths = append(f.paths, f.pathOf(chain.For(m.Code, string(m.Form))))
	}
	f.regrind = f.pathOf(chain.For("", string(inventory.Regrind)))
	f.feedsOf = make([][]int, len(f.in.Grades))
	for _, i := range f.in.Ingredients {
		fd := feed{material: f.materialAt[i.Material], grade: f.gradeAt[i.Grade], minShare: float64(i.MinShare), maxShare: orDefault(float64(i.MaxShare), 1)}
		f.feedsOf[fd.grade] = append(f.feedsOf[fd.grade], len(f.feeds))
		f.feeds = append(f.feeds, fd)
	}
}

// pathOf spreads a yield path over the plant's steps.
func (f *facts) pathOf(y yield.Path) path {
	p := path{yield: float64(y.Yield), cost: float64(y.CostPerKg), hours: make([]float64, len(f.in.Steps))}
	for _, h := range y.Steps {
		i := slices.IndexFunc(f.in.Steps, func(s yield.Step) bool { return s.Code == h.Step })
		p.hours[i] = float64(h.HoursPerKg)
	}
	return p
}

// gatherSupply sums free lots, counted stock and committed deliveries at their planned arrival.
func (f *facts) gatherSupply() {
	f.yard0 = make([]float64, len(f.in.Materials))
	for _, lot := range f.in.Lots {
		if !lot.Hold {
			f.yard0[f.materialAt[lot.Material]] += float64(lot.Mass)
		}
	}
	f.pellet0, f.own0, f.rack0 = make([]float64, len(f.in.Grades)), make([]float64, len(f.in.Grades)), make([]float64, len(f.in.Profiles))
	for _, s := range f.in.Stock {
		switch s.Kind {
		case inventory.PelletStock:
			f.pellet0[f.gradeAt[s.Code]] += float64(s.Mass)
		case inventory.RegrindStock:
			f.own0[f.gradeAt[s.Code]] += float64(s.Mass)
		case inventory.ProfileStock:
			f.rack0[f.profileAt[s.Code]] += float64(s.Length)
		}
	}
	f.arrivals = make([][]float64, len(f.in.Materials))
	for m := range f.arrivals {
		f.arrivals[m] = make([]float64, len(f.buckets))
	}
	for _, d := range f.in.Deliveries {
		if d.Status == inventory.Received || d.Status == inventory.Rejected {
			continue
		}
		// What should have come before the plan starts and has not is expected on its first day.
		day := max(f.start, inventory.PlannedArrival(d, f.in.Plant.ArrivesBy()))
		if t := f.bucketOf(day); t < len(f.buckets) {
			f.arrivals[f.materialAt[d.Material]][t] += float64(d.Mass)
		}
	}
}

// gatherPins cuts the pins to buckets.
func (f *facts) gatherPins() {
	for _, pin := range f.in.Pins {
		l, p := f.lineAt[pin.Line], -1
		if pin.Profile != "" {
			p = f.profileAt[pin.Profile]
		}
		for t, b := range f.buckets {
			span := b.Span.Overlap(calendar.Span{From: pin.From, To: pin.To})
			if span.Days() == 0 {
				continue
			}
			if ln := f.in.Lines[l]; ln.State == lines.Down {
				span = span.Overlap(calendar.Span{From: ln.DownUntil, To: math.MaxInt32})
			}
			hours := min(f.avail[l][t], float64(f.in.Calendar.SpanHours(pin.Line, span)))
			f.pins = append(f.pins, pinned{pin: pin, line: l, profile: p, bucket: t, hours: hours})
		}
	}
	slices.SortStableFunc(f.pins, func(a, b pinned) int {
		return cmp.Or(cmp.Compare(a.bucket, b.bucket), strings.Compare(a.pin.Code, b.pin.Code))
	})
}
