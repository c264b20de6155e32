package forecast

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"feedline/inventory"
	"feedline/lines/calendar"
	"feedline/planner"
)

// load is a delivery on its way or loads that the plan orders.
type load struct {
	code, kind   string
	material     int
	kg           float64
	lane         int // -1 = none
	sea          bool
	committed    bool
	delivery     *inventory.Delivery // nil for a purchase
	ordered      calendar.Day        // of a purchase
	planned      calendar.Day
	unstated     bool // by sea, on its way, and the book gives no spread
	atPort       bool
	orderedLoads int
}

// plant is what worlds of a plan are drawn from.
type plant struct {
	in      *planner.Input
	weeks   []calendar.Bucket
	loads   []load
	spread  Spread
	profile map[string]int
	ceiling []float64 // by line: the most that uptime can exceed the plan's, 1 ÷ availability
	drivers []driver
	yield   []float64 // by material: relative standard deviation over the horizon
	uptime  []float64 // by line: likewise
	known   int       // how many of these are the plan's estimates' own
}

// driver names something drawn.
type driver struct{ kind, name, unit string }

// world is a sample: what the re-planning program is told, and what was drawn.
type world struct {
	planner.World
	committed [][]float64 // arrivals without the plan's loads
	drawn     []float64   // by driver
	day       []calendar.Day
	port      float64   // what all loads by sea have in common, deviations
	shocks    []float64 // what a lane's loads have in common, by lane
}

func newPlant(in *planner.Input, p *planner.Plan, weeks []calendar.Bucket, spread Spread) *plant {
	pl := &plant{in: in, weeks: weeks, spread: spread, profile: map[string]int{}}
	materials, lanes := map[string]int{}, map[string]int{}
	for i, m := range in.Materials {
		materials[m.Code] = i
	}
	for i, l := range in.Lanes {
		lanes[l.Code] = i
	}
	for i, pr := range in.Profiles {
		pl.profile[pr.Code] = i
	}
	for i := range in.Deliveries {
		if d := &in.Deliveries[i]; d.Coming() {
			pl.loads = append(pl.loads, pl.delivery(d, materials, lanes))
		}
	}
	for _, b := range p.Purchases {
		s := lanes[b.Lane]
		pl.loads = append(pl.loads, load{code: b.Lane + " " + b.OrderBy.String(), kind: "order", material: materials[in.Lanes[s].Material], kg: float64(b.Mass),
			lane: s, sea: in.Lanes[s].Import, ordered: b.OrderBy, planned: b.Arrives, orderedLoads: b.Loads})
	}
	pl.ceilings()
	pl.estimated(p.Estimates)
	pl.nameDrivers()
	return pl
}

func (pl *plant) delivery(d *inventory.Delivery, materials, lanes map[string]int) load {
	l := load{code: d.Code, kind: "delivery", material: materials[d.Material], kg: float64(d.Mass), lane: -1, committed: true, delivery: d, planned: d.ETA}
	if s, ok := lanes[d.Lane]; ok {
		l.lane, l.sea = s, pl.in.Lanes[s].Import
	}
	l.unstated = l.sea && d.Spread == 0 && (d.Status == inventory.Afloat || d.Status == inventory.AtPort)
	l.atPort = d.Status == inventory.AtPort
	return l
}

// ceilings bounds each line's uptime: no line runs more than it is crewed.
func (pl *plant) ceilings() {
	pl.ceiling = make([]float64, len(pl.in.Lines))
	for l, ln := range pl.in.Lines {
		most := 0.0
		for _, f := range pl.in.Fits {
			if f.Line == ln.Code {
				most = max(most, float64(f.Availability))
			}
		}
		pl.ceiling[l] = 1
		if most > 0 {
			pl.ceiling[l] = 1 / most
		}
	}
}

func (pl *plant) nameDrivers() {
	for _, l := range pl.loads {
		pl.drivers = append(pl.drivers, driver{l.kind, l.code, "days late"})
	}
	for _, m := range pl.in.Materials {
		pl.drivers = append(pl.drivers, driver{"yield", m.Code, "share of planned"})
	}
	for _, l := range pl.in.Lines {
		pl.drivers = append(pl.drivers, driver{"uptime", l.Code, "share of planned"})
	}
	for _, p := range pl.in.Profiles {
		pl.drivers = append(pl.drivers, driver{"demand", p.Code, "share of forecast"})
	}
	pl.drivers = append(pl.drivers, driver{"shock", "sea freight", "deviations"})
}

// draw is sample number i. Streams of different samples do not overlap in practice: PCG with the sample's number as its second word.
func (pl *plant) draw(seed uint64, i int) *world {
	rng := rand.New(rand.NewPCG(seed, uint64(i)+1))
	w := &world{drawn: make([]float64, 0, len(pl.drivers))}
	port := rng.NormFloat64()
	pl.drawLoads(w, rng, port)
	pl.drawYields(w, rng)
	pl.drawUptime(w, rng)
	pl.drawDemand(w, rng)
	w.drawn = append(w.drawn, port)
	return w
}

func grid(rows, columns int) [][]float64 {
	all := make([]float64, rows*columns)
	g := make([][]float64, rows)
	for i := range g {
		g[i] = all[i*columns : (i+1)*columns : (i+1)*columns]
	}
	return g
}

// drawLoads draws when each load comes and whether it is accepted. Delays of a lane, and of all loads by sea, have a part in common:
// z = √port·Z_port + √lane·Z_lane + √rest·Z is standard normal, and the load comes at the quantile Φ(z) of its own distribution.
func (pl *plant) drawLoads(w *world, rng *rand.Rand, port float64) {
	w.Arrivals, w.committed = grid(len(pl.in.Materials), len(pl.weeks)), grid(len(pl.in.Materials), len(pl.weeks))
	w.day = make([]calendar.Day, len(pl.loads))
	shocks := make([]float64, len(pl.in.Lanes))
	for s := range shocks {
		shocks[s] = rng.NormFloat64()
	}
	w.port, w.shocks = port, shocks
	for i := range pl.loads {
		l := &pl.loads[i]
		own, refused := rng.NormFloat64(), rng.Float64() < pl.spread.Rejection
		z := own
		if l.lane >= 0 {
			z = pl.deviate(w, l.lane, l.sea, own)
		}
		day := pl.comes(l, z, rng)
		w.day[i] = day
		late := float64(day - l.planned)
		if refused {
			late = neverDays
		}
		w.drawn = append(w.drawn, late)
		t, ok := pl.week(day)
		if refused || !ok {
			continue
		}
		w.Arrivals[l.material][t] += l.kg
		if l.committed {
			w.committed[l.material][t] += l.kg
		}
	}
}

// deviate is the normal deviate of a load's delay, of which own is its own part.
func (pl *plant) deviate(w *world, lane int, sea bool, own float64) float64 {
	common, shared := 0.0, pl.spread.LaneShock
	if sea {
		common = pl.spread.PortShock
	}
	return math.Sqrt(common)*w.port + math.Sqrt(shared)*w.shocks[lane] + math.Sqrt(1-common-shared)*own
}

// neverDays stands for a load refused where loads are ranked by their delay.
const neverDays = 1000

// comes is the day on which a load is usable at the normal deviate z.
func (pl *plant) comes(l *load, z float64, rng *rand.Rand) calendar.Day {
	u := distuv.UnitNormal.CDF(z)
	switch {
	case l.delivery == nil:
		return inventory.LoadArrival(pl.in.Lanes[l.lane], l.ordered, u)
	case l.unstated && pl.spread.Unstated > 0:
		return l.delivery.ETA + calendar.Day(math.Ceil(pl.spread.Unstated*publishedDelay(l.atPort, u)))
	}
	return inventory.PlannedArrival(*l.delivery, u)
}

// publishedDelay is the quantile u of the days by which a load by sea is late: at the port its dwell beyond the mean, afloat an
// exponential delay of the vessels that are late. It has the published share in time and mean of the late; the shape is assumed.
func publishedDelay(atPort bool, u float64) float64 {
	u = min(max(u, 1e-9), 1-1e-9)
	if atPort {
		mu := math.Log(dwellDays) - dwellSigma*dwellSigma/2
		return math.Exp(mu+dwellSigma*distuv.UnitNormal.Quantile(u)) - dwellDays
	}
	if u <= 1-linerLate {
		return 0
	}
	return -linerLateDays * math.Log((1-u)/linerLate)
}

// week is the week that day lies in, the first for a day before it; false after the last.
func (pl *plant) week(day calendar.Day) (int, bool) {
	first, last := pl.weeks[0].Span.From, pl.weeks[len(pl.weeks)-1].Span.To
	if day >= last {
		return 0, false
	}
	t, _ := calendar.BucketOf(pl.weeks, max(day, first))
	return t, true
}

// drawYields draws each material's yield over the horizon, normal, cut at three deviations.
func (pl *plant) drawYields(w *world, rng *rand.Rand) {
	w.Yield = make([]float64, len(pl.in.Materials))
	for m := range w.Yield {
		w.Yield[m] = 1 + pl.yield[m]*cutNormal(rng, 3)
		w.drawn = append(w.drawn, w.Yield[m])
	}
}

// cutNormal is a standard normal deviate drawn anew until it lies within ± most.
func cutNormal(rng *rand.Rand, most float64) float64 {
	for {
		if z := rng.NormFloat64(); math.Abs(z) <= most {
			return z
		}
	}
}

// drawUptime draws each line's uptime: its own over the horizon, and week by week. Both are cut evenly on both sides, so that the mean is
// the plan's and no line runs more than it is crewed.
func (pl *plant) drawUptime(w *world, rng *rand.Rand) {
	w.Uptime = grid(len(pl.in.Lines), len(pl.weeks))
	for l := range w.Uptime {
		room := pl.ceiling[l] - 1
		own := even(pl.uptime[l]*cutNormal(rng, 3), room/3)
		sum := 0.0
		for t := range w.Uptime[l] {
			w.Uptime[l][t] = 1 + own + even(pl.spread.UptimeWeek*cutNormal(rng, 3), room*2/3)
			sum += w.Uptime[l][t]
		}
		w.drawn = append(w.drawn, sum/float64(len(pl.weeks)))
	}
}

func even(x, most float64) float64 { return min(max(x, -most), most) }

// drawDemand draws the forecast of each profile: lognormal factors of mean 1 for the plant, the profile and the week.
func (pl *plant) drawDemand(w *world, rng *rand.Rand) {
	w.Demand = grid(len(pl.in.Profiles), len(pl.weeks))
	all := factor(rng, pl.spread.DemandPlant)
	for p := range w.Demand {
		own, sum := all*factor(rng, pl.spread.Demand), 0.0
		for t := range w.Demand[p] {
			w.Demand[p][t] = own * factor(rng, pl.spread.DemandWeek)
			sum += w.Demand[p][t]
		}
		w.drawn = append(w.drawn, sum/float64(len(pl.weeks)))
	}
}

// factor is a lognormal deviate of mean 1 and coefficient of variation cv.
func factor(rng *rand.Rand, cv float64) float64 {
	z := rng.NormFloat64()
	if cv <= 0 {
		return 1
	}
	v := math.Log1p(cv * cv)
	return math.Exp(math.Sqrt(v)*z - v/2)
}
