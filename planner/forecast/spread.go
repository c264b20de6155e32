package forecast

import "math"

// Spread is how widely things scatter. A field of 0 is its default; a negative one is no spread at all. Lead times of lanes and the spread
// of deliveries are the book's. None of the defaults has a published source but where one is named: common practice.
type Spread struct {
	Rejection   float64 // probability that a load is refused at the gate; default 0.01
	PortShock   float64 // share of the variance of sea loads' delays that all of them have in common; default 0.3
	LaneShock   float64 // share of the variance of a lane's delays that its loads have in common; default 0.2
	Yield       float64 // standard deviation of a material's yield over the horizon, relative; default 0.01
	Uptime      float64 // standard deviation of a line's uptime over the horizon, relative; default 0.02
	UptimeWeek  float64 // and from week to week beside that; default 0.06
	Demand      float64 // coefficient of variation of a profile's forecast over the horizon; default 0.1
	DemandPlant float64 // and of all profiles together; default 0.05
	DemandWeek  float64 // and from week to week beside that; default 0.15
	Unstated    float64 // scales the published delays that stand for deliveries by sea without a spread in the book; default 1
}

var usual = Spread{Rejection: 0.01, PortShock: 0.3, LaneShock: 0.2, Yield: 0.01, Uptime: 0.02, UptimeWeek: 0.06,
	Demand: 0.1, DemandPlant: 0.05, DemandWeek: 0.15, Unstated: 1}

// None is the Spread in which nothing scatters but what the book gives a spread.
var None = Spread{-1, -1, -1, -1, -1, -1, -1, -1, -1, -1}

// Published figures of transport, for loads that the book gives no spread.
const (
	// Of vessels half were in time in June 2024 and the rest late by 5.19 days on average (Global Liner Performance report, "50–55 %").
	linerLate, linerLateDays = 0.475, 5.19
	// Dwell of trucks' containers at Los Angeles and Long Beach, January 2024 (PMSA): mean 2.89 days, 5.3 % beyond five,
	// which a lognormal of this deviation of the logarithm fits.
	dwellDays, dwellSigma = 2.89, 0.385
)

// withDefaults fills zero fields and makes negative ones 0.
func (s Spread) withDefaults() Spread {
	for _, f := range []struct {
		v *float64
		d float64
	}{{&s.Rejection, usual.Rejection}, {&s.PortShock, usual.PortShock}, {&s.LaneShock, usual.LaneShock}, {&s.Yield, usual.Yield},
		{&s.Uptime, usual.Uptime}, {&s.UptimeWeek, usual.UptimeWeek}, {&s.Demand, usual.Demand}, {&s.DemandPlant, usual.DemandPlant},
		{&s.DemandWeek, usual.DemandWeek}, {&s.Unstated, usual.Unstated}} {
		switch {
		case *f.v == 0 || math.IsNaN(*f.v):
			*f.v = f.d
		case *f.v < 0:
			*f.v = 0
		}
	}
	s.PortShock = min(s.PortShock, 1)
	s.LaneShock = min(s.LaneShock, 1-s.PortShock)
	return s
}

// Named is the spread by the names of its fields in JSON.
func (s Spread) Named() map[string]float64 {
	return map[string]float64{"rejection": s.Rejection, "port_shock": s.PortShock, "lane_shock": s.LaneShock, "yield": s.Yield, "uptime": s.Uptime,
		"uptime_week": s.UptimeWeek, "demand": s.Demand, "demand_plant": s.DemandPlant, "demand_week": s.DemandWeek, "unstated": s.Unstated}
}
