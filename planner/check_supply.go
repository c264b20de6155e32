package planner

import (
	"fmt"

	"feedline/inventory"
	"feedline/lines/calendar"
)

// supply checks lanes, deliveries, lots and the room for them.
func (c *checker) supply() {
	materials := map[string]inventory.Material{}
	for _, m := range c.in.Materials {
		materials[m.Code] = m
	}
	lanes := map[string]inventory.Lane{}
	for _, l := range c.in.Lanes {
		lanes[l.Code] = l
		for _, x := range inventory.CheckLane(l, materials[l.Material]) {
			c.add(Problem{TableLanes, l.Code, FieldName(TableLanes, x.Field), x.Value, x.Allowed, x.Remedy, x.Warning})
		}
		c.currency(l)
	}
	for _, d := range c.in.Deliveries {
		c.delivery(d, lanes)
	}
	yard := 0.0
	for _, l := range c.in.Lots {
		c.notAhead(TableLots, l.Code, "received", l.Received)
		if rho := materials[l.Material].BulkDensity; rho > 0 {
			yard += float64(l.Mass) / float64(rho)
		}
	}
	c.room(TablePlant, "", "yard", yard, float64(c.in.Plant.Yard), "m³", "the lots take up")
	c.silos()
}

// currency checks that a lane in another currency has a rate of exchange, and that one in the plant's has none.
func (c *checker) currency(l inventory.Lane) {
	if l.Currency != "" && !currencyForm(l.Currency) {
		return // Lane.Check says so
	}
	own := l.Currency == "" || l.Currency == c.in.Plant.Currency
	p := Problem{Table: TableLanes, Key: l.Code, Field: "exchange rate", Value: number(l.Rate)}
	switch {
	case own && l.Rate != 0 && l.Rate != 1:
		p.Allowed, p.Remedy = "1 or blank for a lane in the plant's currency", "enter the lane's currency or take the rate out"
	case !own && l.Rate == 0:
		p.Allowed = fmt.Sprintf("%s per %s", c.in.Plant.Currency, l.Currency)
		p.Remedy = "enter how much of the plant's currency one of the lane's buys"
	default:
		return
	}
	c.add(p)
}

func currencyForm(s string) bool {
	for _, r := range s {
		if r < 'A' || r > 'Z' {
			return false
		}
	}
	return len(s) == 3
}

func (c *checker) delivery(d inventory.Delivery, lanes map[string]inventory.Lane) {
	if l, ok := lanes[d.Lane]; ok && l.Material != d.Material {
		c.add(Problem{Table: TableDeliveries, Key: d.Code, Field: "material", Value: quoted(d.Material),
			Allowed: fmt.Sprintf("%q, which lane %s brings", l.Material, l.Code), Remedy: "correct the material or leave the lane blank"})
	}
	if !d.Coming() {
		return
	}
	eta := Problem{Table: TableDeliveries, Key: d.Code, Field: "ETA", Value: d.ETA.String()}
	switch {
	case d.ETA == 0:
		eta.Value, eta.Allowed = "none", "a day, for a delivery that is still to come"
	case d.Overdue(c.today) && !d.Late:
		eta.Allowed = c.today.String() + " or later, unless it is marked late"
		eta.Remedy = "enter its new ETA, or late = yes, or status = received and a lot"
		if d.Doubtful(c.today) {
			eta.Remedy, eta.Warning = "until it has a new ETA, or status = received and a lot, the plan counts on it from its first day", true
		}
	case d.Ordered > d.ETA:
		eta.Allowed = fmt.Sprintf("%s, when it was ordered, or later", d.Ordered)
	default:
		return
	}
	c.add(eta)
}

// notAhead warns of a day in the future where only the past makes sense.
func (c *checker) notAhead(table, key, field string, d calendar.Day) {
	if c.today != 0 && d > c.today {
		c.add(Problem{Table: table, Key: key, Field: field, Value: d.String(), Allowed: c.today.String() + " or earlier", Warning: true})
	}
}

// room warns of a store that holds more than there is room for.
func (c *checker) room(table, key, field string, used, limit float64, unit, what string) {
	if limit > 0 && used > limit {
		c.add(Problem{Table: table, Key: key, Field: field, Value: number(limit) + " " + unit,
			Allowed: fmt.Sprintf("at least the %s %s that %s now", number(used), unit, what), Remedy: "check the room and the stock", Warning: true})
	}
}

// silos checks the room for pellets and for profiles.
func (c *checker) silos() {
	pellets, rack := map[string]float64{}, 0.0
	litres := map[string]float64{}
	for _, p := range c.in.Profiles {
		litres[p.Code] = p.RackLitresPerMetre
	}
	for _, s := range c.in.Stock {
		switch s.Kind {
		case inventory.PelletStock:
			pellets[s.Code] += float64(s.Mass)
		case inventory.ProfileStock:
			rack += float64(s.Length) * litres[s.Code] / litresPerCubicM
		}
	}
	for _, g := range c.in.Grades {
		c.room(TableGrades, g.Code, "silo", pellets[g.Code], float64(g.Silo), "kg", "are in it")
	}
	c.room(TablePlant, "", "rack", rack, float64(c.in.Plant.Rack), "m³", "the profiles take up")
}
