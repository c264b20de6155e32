package planner

import (
	"fmt"
	"time"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

const (
	longestWeeks = 104 // weeks: two years, beyond which no one has orders
	longestDaily = 60  // days: every day is a set of decisions
)

// Check says what is wrong or doubtful about the plant by itself.
func (p Plant) Check() []quantity.Problem {
	var c quantity.Checks
	if p.Currency != "" && !currencyForm(p.Currency) {
		c.Add(quantity.Problem{Field: "Currency", Value: quoted(p.Currency), Allowed: "three capital letters such as EUR or USD (ISO 4217)"})
	}
	if _, err := time.LoadLocation(p.Zone); err != nil || p.Zone == "Local" {
		c.Add(quantity.Problem{Field: "Zone", Value: quoted(p.Zone), Allowed: "an IANA time zone such as Europe/Berlin or America/Chicago"})
	}
	if p.Units != quantity.Metric && p.Units != quantity.US {
		c.Add(quantity.Problem{Field: "Units", Value: fmt.Sprint(int(p.Units)), Allowed: "metric or us"})
	}
	c.Fraction("RegrindYield", p.RegrindYield)
	c.Fraction("HoldingRate", p.HoldingRate)
	c.Fraction("LateCostADay", p.LateCostADay)
	c.Usual("LateCostADay", float64(p.LateCostADay), 0, 0.2, "", "a day late costs 20 % of the price at most, as a rule")
	checkQuantile(&c, "ArrivalQuantile", p.ArrivalQuantile)
	checkQuantile(&c, "ServiceLevel", p.ServiceLevel)
	c.Within("Weeks", float64(p.Weeks), 0, longestWeeks, "weeks")
	c.Within("DailyDays", float64(p.DailyDays), 0, longestDaily, "days")
	c.Within("FrozenDays", float64(p.FrozenDays), 0, longestDaily, "days")
	if p.Weeks > 0 && p.DailyDays > 7*p.Weeks {
		c.Add(quantity.Problem{Field: "DailyDays", Value: fmt.Sprintf("%d days", p.DailyDays),
			Allowed: fmt.Sprintf("at most the horizon, %d days", 7*p.Weeks)})
	}
	return c.Problems()
}

// checkQuantile asks for 0, which stands for the default, or a share that a quantile can be taken at.
func checkQuantile(c *quantity.Checks, field string, q quantity.Share) {
	if q != 0 && !(q >= 0.5 && q < 1) {
		c.Add(quantity.Problem{Field: field, Value: number(float64(q)), Allowed: "0.5 or more and below 1", Remedy: "write 95 % as 0.95"})
	}
}

// Check says what is wrong or doubtful about an order by itself.
func (o Order) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Code", o.Code)
	c.NotNegative("Length", float64(o.Length), "m")
	c.NotNegative("Price", float64(o.Price), "a metre")
	c.Within("Priority", float64(o.Priority), 1, lastPriority, "")
	if o.Due == 0 {
		c.Add(quantity.Problem{Field: "Due", Value: "none", Allowed: "a day"})
	}
	return c.Problems()
}

// Check says what is wrong with a forecast by itself.
func (f Forecast) Check() []quantity.Problem {
	var c quantity.Checks
	c.NotNegative("Length", float64(f.Length), "m")
	checkSpan(&c, "", f.From, f.To)
	return c.Problems()
}

// Check says what is wrong or doubtful about a pin by itself.
func (p Pin) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Code", p.Code)
	c.OneOf("Kind", string(p.Kind), string(PinRun), string(PinIdle), string(PinForbid))
	checkSpan(&c, "", p.From, p.To)
	switch {
	case p.Kind == PinForbid && p.Profile == "":
		c.Add(quantity.Problem{Field: "Profile", Value: `""`, Allowed: "the profile that is forbidden", Remedy: "to keep the line from running anything use idle"})
	case p.Kind == PinIdle && p.Profile != "":
		c.Add(quantity.Problem{Field: "Profile", Value: quoted(p.Profile), Allowed: "blank for idle", Remedy: "to keep off one profile use forbid"})
	}
	return c.Problems()
}

// checkSpan asks for days in order in the fields From and To of the struct within, "" or with a point behind; the messages count the last day in, as the sheets do.
func checkSpan(c *quantity.Checks, within string, from, to calendar.Day) {
	if from == 0 {
		c.Add(quantity.Problem{Field: within + "From", Value: "none", Allowed: "a day"})
	}
	switch {
	case to == 0:
		c.Add(quantity.Problem{Field: within + "To", Value: "none", Allowed: "a day"})
	case to <= from:
		c.Add(quantity.Problem{Field: within + "To", Value: (to - 1).String(), Allowed: fmt.Sprintf("%s, the first day, or later", from)})
	}
}

// plant checks the plant against its tables.
func (c *checker) plant() {
	in := c.in
	if in.Plant.Currency == "" {
		c.add(Problem{Table: TablePlant, Field: "currency", Value: `""`, Allowed: "three capital letters such as EUR or USD (ISO 4217)", Warning: true})
	}
	if len(in.Calendar.Shifts) == 0 {
		c.add(Problem{Table: TableShifts, Value: "no rows", Allowed: "at least one shift", Remedy: "without shifts no line has hours to run", Warning: true})
	}
	longest, lane := 0.0, ""
	for _, l := range in.Lanes {
		if l.LeadTime.Mean > longest {
			longest, lane = l.LeadTime.Mean, l.Code
		}
	}
	if weeks := firstOf(in.Plant.Weeks, defaultWeeks); longest > float64(7*weeks) {
		c.add(Problem{Table: TablePlant, Field: "weeks", Value: fmt.Sprintf("%d weeks", weeks), Warning: true,
			Allowed: fmt.Sprintf("more than the lead time of lane %s, %s days", lane, number(longest)), Remedy: "nothing ordered on it arrives within the horizon"})
	}
}
