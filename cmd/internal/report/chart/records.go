package chart

import (
	"cmp"
	"slices"

	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/estimates"
	"feedline/planner/records"
	"feedline/yield"
)

// leastRecords is the fewest values that a control chart is drawn of: limits of fewer say nothing.
const leastRecords = 8

// Controls are the control charts of what the plant has written down: the yield of each step and the good share of each line, run by
// run, with the limits of single values. Entries that were reversed don't count.
func Controls(in *planner.Input, entries []records.Entry) []Control {
	perMetre := map[string]float64{} // kg
	for _, p := range in.Profiles {
		perMetre[p.Code] = float64(p.PerMetre)
	}
	found := map[string]*Control{}
	add := func(key, title string, day calendar.Day, part, whole float64) {
		if !(whole > 0) {
			return
		}
		if found[key] == nil {
			found[key] = &Control{Title: title, Unit: "%", Decimals: 1}
		}
		c := found[key]
		c.Days, c.Values = append(c.Days, day), append(c.Values, 100*part/whole)
	}
	list := slices.Clone(entries)
	slices.SortStableFunc(list, func(a, b records.Entry) int { return cmp.Compare(a.Head.Day, b.Head.Day) })
	for _, e := range list {
		if !e.Counts() {
			continue
		}
		switch r := e.Record.(type) {
		case records.Process:
			add("1"+r.Step, "Yield of "+r.Step, r.Day, float64(records.Grams(r.Out)), float64(r.InGrams()))
		case records.Run:
			good := float64(r.Good) * perMetre[r.Profile]
			add("2"+r.Line, "Good share of "+r.Line, r.Day, good, good+float64(r.Scrap))
		}
	}
	return drawn(found)
}

// drawn are those with values enough, with their limits, steps before lines.
func drawn(found map[string]*Control) []Control {
	var keys []string
	for k, c := range found {
		if len(c.Values) >= leastRecords {
			keys = append(keys, k)
		}
	}
	slices.Sort(keys)
	var list []Control
	for _, k := range keys {
		c := found[k]
		c.Limits, _ = yield.IndividualsLimits(c.Values)
		list = append(list, *c)
	}
	return list
}

// Watched are the control charts of estimates: those that signal, at most so many in the order of the report. Their values are actual ÷ entered in percent.
func Watched(r estimates.Report, most int) []Control {
	var list []Control
	for _, c := range r.Alarms() {
		if len(list) == most {
			break
		}
		k := Control{Title: "Out of control: " + c.Name, Unit: "% of entered", Decimals: 1, Days: c.Days, Base: c.Base, Limits: percent(c.Single), Smooth: percent(c.Smooth),
			Values: percents(c.Values), EWMA: percents(c.EWMA), Says: c.Alarms[len(c.Alarms)-1].Words + "."}
		list = append(list, k)
	}
	return list
}

func percent(l yield.Limits) yield.Limits {
	return yield.Limits{Centre: 100 * l.Centre, Low: 100 * l.Low, High: 100 * l.High}
}

func percents(x []float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = 100 * v
	}
	return out
}
