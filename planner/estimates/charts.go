package estimates

import (
	"fmt"

	"feedline/lines/calendar"
	"feedline/yield"
)

// Chart is a series watched by an individuals chart and an EWMA. Values are ratios of actual to entered.
type Chart struct {
	Name   string
	Values []float64
	EWMA   []float64
	Codes  []string // of the records
	Days   []calendar.Day
	Base   int // so many of the first records set the limits
	Single yield.Limits
	Smooth yield.Limits
	Alarms []Alarm
}

// Alarm is a value out of the limits, or a smoothed one: the process has changed.
type Alarm struct {
	Index  int
	Smooth bool // of the EWMA: a drift; else a single record
	Value  float64
	Limits yield.Limits
	Words  string
}

const (
	lambda    = 0.2 // weight of the newest record in the EWMA (NIST/SEMATECH e-Handbook 6.3.2.4: 0.2 to 0.3)
	chartBase = 12  // least records that limits are set by
	chartLast = 8   // newest records that alarms are raised for
)

// charts watches yields by step, material and supplier, and rates by line and profile.
func (o *observation) charts() []Chart {
	var list []Chart
	for _, k := range sorted(o.supplied, func(k [3]string) string { return k[0] + "\x00" + k[1] + "\x00" + k[2] }) {
		list = appendChart(list, "yield "+k[0]+" "+k[1]+" of "+k[2], o.supplied[k])
	}
	for _, k := range sorted(o.rate, pair.key) {
		list = appendChart(list, "rate "+k.a+" "+k.b, o.rate[k])
	}
	return list
}

// appendChart adds a chart if there are records enough: the newest are held against limits that those before them set.
func appendChart(list []Chart, name string, s *series) []Chart {
	base := len(s.records) - chartLast
	if base < chartBase {
		return list
	}
	c := Chart{Name: name, Values: ratios(s.records), Codes: s.codes, Base: base}
	for _, r := range s.records {
		c.Days = append(c.Days, r.Day)
	}
	c.Single, _ = yield.IndividualsLimits(c.Values[:base])
	sd := (c.Single.High - c.Single.Centre) / 3
	c.EWMA = yield.EWMA(c.Values, c.Single.Centre, lambda)
	c.Smooth = yield.EWMALimits(c.Single.Centre, sd, lambda)
	if !(sd > 0) {
		return append(list, c)
	}
	for i := base; i < len(c.Values); i++ {
		c.check(i, false, c.Values[i], c.Single)
	}
	c.check(len(c.Values)-1, true, c.EWMA[len(c.Values)-1], c.Smooth) // a drift is one that still is
	return append(list, c)
}

func (c *Chart) check(i int, smooth bool, v float64, l yield.Limits) {
	side, limit := "below", l.Low
	switch {
	case v > l.High:
		side, limit = "above", l.High
	case v >= l.Low:
		return
	}
	what := "record"
	if smooth {
		what = "smoothed"
	}
	c.Alarms = append(c.Alarms, Alarm{Index: i, Smooth: smooth, Value: v, Limits: l,
		Words: fmt.Sprintf("%s: %s %.3f of what was entered, %s the limit %.3f, at %s on %s", c.Name, what, v, side, limit, c.Codes[i], c.Days[i])})
}
