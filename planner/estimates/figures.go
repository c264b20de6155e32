package estimates

import (
	"cmp"
	"math"
	"slices"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner/records"
	"feedline/yield"
)

// yields is of each step and material, and of each supplier in it, shrunk towards the material's.
func (o *observation) yields() []Estimate {
	var list []Estimate
	by := pool(o.yield, pair.first, believedYield)
	for _, k := range sorted(o.yield, pair.key) {
		e, entered := by[k], o.enteredYield(o.steps[k.a], k.b)
		list = append(list, Estimate{Weight: float64(e.Weight),
			Estimate: figure(Yield, k.a, k.b, "", entered, min(1, entered*float64(e.Yield)), entered*float64(e.SD), 1, e.Records, "runs")})
	}
	for _, k := range sorted(o.supplied, func(k [3]string) string { return k[0] + "\x00" + k[1] + "\x00" + k[2] }) {
		whole, entered := by[pair{k[0], k[1]}], o.enteredYield(o.steps[k[0]], k[1])
		e := yield.EstimateRatio(yield.Prior{Yield: whole.Yield, SD: quantity.Share(believedYield.sd / 2), Spread: whole.Spread}, o.supplied[k].records)
		x := Estimate{Weight: float64(e.Weight),
			Estimate: figure(SupplierOf, k[0], k[1], "", entered*float64(whole.Yield), min(1, entered*float64(e.Yield)), entered*float64(e.SD), 1, e.Records, "runs")}
		x.Name = "yield " + k[0] + " " + k[1] + " of " + k[2]
		x.Used, x.Note = false, "for comparing suppliers: plans are made by material"
		list = append(list, x)
	}
	return list
}

// lineFigures is rate, availability and quality of each line and profile; a line's profiles are shrunk towards the line's.
func (o *observation) lineFigures() []Estimate {
	var list []Estimate
	add := func(kind Kind, groups map[pair]*series, b believed, unit string, most float64, entered func(pair) float64) {
		by := pool(groups, pair.first, b)
		for _, k := range sorted(groups, pair.key) {
			e, x := by[k], entered(k)
			list = append(list, Estimate{Weight: float64(e.Weight),
				Estimate: figure(kind, k.a, k.b, unit, x, min(most, x*float64(e.Yield)), x*float64(e.SD), most, e.Records, "runs")})
		}
	}
	add(Rate, o.rate, believedRate, rateUnit, math.Inf(1), func(k pair) float64 { return ideal(o.profiles[k.b], o.fits[k]) })
	add(Availability, o.up, believedUp, "", 1, func(k pair) float64 { return float64(o.fits[k].Availability) })
	add(Quality, o.good, believedGood, "", 1, func(k pair) float64 { return float64(o.fits[k].Quality) })
	return list
}

// setUps is hours of each row of changeovers.
func (o *observation) setUps() []Estimate {
	var list []Estimate
	by := pool(o.setup, func(pair) string { return "" }, believedSetUp)
	for _, k := range sorted(o.setup, pair.key) {
		e, hours := by[k], 0.0
		for _, c := range o.in.Changeovers {
			if c.From == k.a && c.To == k.b {
				hours = float64(c.Hours)
			}
		}
		list = append(list, Estimate{Weight: float64(e.Weight),
			Estimate: figure(SetUp, k.a, k.b, "h", hours, hours*float64(e.Yield), hours*float64(e.SD), math.Inf(1), e.Records, "changeovers")})
	}
	return list
}

// waits is the days that each lane's loads took, and those that open ones have waited. A load that came in parts counts by its last.
func (o *observation) waits(today calendar.Day) map[string]*lane {
	by := map[string]*lane{}
	of := func(code string) *lane {
		if by[code] == nil {
			by[code] = &lane{}
		}
		return by[code]
	}
	last := map[string]int{}
	for i, r := range o.receipts {
		if r.Delivery != "" {
			last[r.Delivery] = i
		}
	}
	for i, r := range o.receipts {
		if r.Lane != "" && r.Ordered != 0 && (r.Delivery == "" || last[r.Delivery] == i) {
			l := of(r.Lane)
			l.arrived = append(l.arrived, float64(r.Day-r.Ordered))
		}
	}
	for _, d := range o.in.Deliveries {
		if d.Coming() && d.Lane != "" && d.Ordered != 0 && d.Ordered < today {
			l := of(d.Lane)
			l.open = append(l.open, float64(today-d.Ordered))
		}
	}
	return by
}

const (
	// leadBelief is the loads that a lane's entered lead time is worth.
	leadBelief = 4
	// leadEnough is the loads from which on the likeliest family counts, not the one entered.
	leadEnough = 8
)

// leadTimes is the days from order to arrival of each lane, with open loads as censored.
func (o *observation) leadTimes(today calendar.Day) []Estimate {
	var list []Estimate
	by := o.waits(today)
	for _, l := range o.in.Lanes {
		w := by[l.Code]
		if w == nil || len(w.arrived) == 0 {
			continue
		}
		x := Estimate{Open: len(w.open)}
		for _, family := range []inventory.Distribution{inventory.Lognormal, inventory.Gamma, inventory.Normal} {
			if f, ok := inventory.FitLeadTime(family, w.arrived, w.open); ok {
				x.Fits = append(x.Fits, f)
			}
		}
		slices.SortStableFunc(x.Fits, func(a, b inventory.LeadTimeFit) int { return cmp.Compare(b.LogLikelihood, a.LogLikelihood) })
		n := float64(len(w.arrived))
		lead := blend(l.LeadTime, x.Fits, w.arrived)
		x.Weight = n / (n + leadBelief)
		x.Estimate = figure(LeadTime, l.Code, "", "days", l.LeadTime.Mean, lead.Mean, lead.SD/math.Sqrt(n+leadBelief), math.Inf(1), len(w.arrived), "loads")
		x.LeadTime = lead
		x.Note = leadNote(x)
		list = append(list, x)
	}
	return list
}

func leadNote(x Estimate) string {
	s := string(x.LeadTime.Distribution) + ", SD " + records.Days(x.LeadTime.SD)
	if x.Open > 0 {
		s += ", with " + records.Plural(x.Open, "load") + " still open"
	}
	return s
}

// blend weighs what was entered, worth leadBelief loads, with what the loads say.
func blend(entered inventory.LeadTime, fits []inventory.LeadTimeFit, arrived []float64) inventory.LeadTime {
	n := float64(len(arrived))
	mean, sd := yield.Moments(arrived)
	if math.IsNaN(sd) {
		sd = entered.SD
	}
	out := inventory.LeadTime{Distribution: entered.Distribution}
	if out.Distribution == inventory.Fixed || out.Distribution == "" {
		out.Distribution = inventory.Lognormal
	}
	for _, f := range fits {
		if len(arrived) >= leadEnough || f.Distribution == out.Distribution {
			out.Distribution, mean, sd = f.Distribution, f.Mean, f.SD
			break
		}
	}
	out.Mean = (leadBelief*entered.Mean + n*mean) / (leadBelief + n)
	out.SD = math.Sqrt((leadBelief*entered.SD*entered.SD + n*sd*sd) / (leadBelief + n))
	if out.SD == 0 {
		out.Distribution = inventory.Fixed
	}
	return out
}
