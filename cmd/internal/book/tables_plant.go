package book

import (
	"fmt"
	"slices"
	"time"
	_ "time/tzdata" // a plant's zone must be there on a machine without a zone database

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// tables is every table of the input, in an order in which codes are entered before they are named.
var tables = slices.Concat(plantTables, feedTables, floorTables, calendarTables, supplyTables, demandTables, recordingTables)

var unitWords = []string{quantity.Metric: "metric", quantity.US: "us"}

var plantTables = []*table{
	tableOf(planner.TablePlant, 0, func(in *planner.Input) []planner.Plant { return []planner.Plant{in.Plant} }, takePlant,
		func(r *planner.Plant) []cell {
			return []cell{
				text("name", &r.Name),
				text("currency", &r.Currency),
				text("zone", &r.Zone),
				word("units", &r.Units, unitWords...),
				number("yard_m3", &r.Yard),
				number("rack_m3", &r.Rack),
				number("crew", &r.Crew),
				number("crew_cost_an_h", &r.CrewCost),
				number("fitter_h", &r.FitterHours),
				number("fitter_cost_an_h", &r.FitterCost),
				number("energy_price_a_kwh", &r.EnergyPrice),
				number("regrind_yield", &r.RegrindYield),
				number("holding_rate", &r.HoldingRate),
				number("late_cost_a_day", &r.LateCostADay),
				number("unmet_cost", &r.UnmetCost),
				number("shortfall_price_a_kg", &r.ShortfallPrice),
				number("arrival_quantile", &r.ArrivalQuantile),
				number("service_level", &r.ServiceLevel),
				whole("daily_days", &r.DailyDays),
				whole("weeks", &r.Weeks),
				whole("frozen_days", &r.FrozenDays),
				number("change_cost", &r.ChangeCost),
			}
		}),
}

// takePlant sets the plant and, as times follow it, the calendar's zone.
func takePlant(in *planner.Input, rows []planner.Plant) error {
	if len(rows) != 1 {
		return damaged("%d plants", len(rows))
	}
	in.Plant, in.Calendar.Zone = rows[0], nil
	if in.Plant.Zone == "" {
		return nil
	}
	zone, err := time.LoadLocation(in.Plant.Zone)
	if err != nil {
		return damaged("plant: zone %q, which is no time zone", in.Plant.Zone)
	}
	in.Calendar.Zone = zone
	return nil
}

// checkZone refuses a plant without a time zone that can be read back, or with another than its calendar's: the book keeps one.
func checkZone(in *planner.Input) error {
	bad := &RowError{Table: planner.TablePlant, Column: "zone", Value: shown(in.Plant.Zone)}
	if _, err := time.LoadLocation(in.Plant.Zone); err != nil || in.Plant.Zone == "Local" {
		bad.Allowed = "an IANA time zone such as Europe/Berlin or America/Chicago"
		return bad
	}
	plant, times := in.Plant.Zone, "UTC"
	if in.Calendar.Zone != nil {
		times = in.Calendar.Zone.String()
	}
	if plant == "" {
		plant = "UTC"
	}
	if plant != times {
		bad.Allowed = fmt.Sprintf("the zone of the calendar, %q", times)
		return bad
	}
	return nil
}

var calendarTables = []*table{
	list(planner.TableShifts, 1, func(in *planner.Input) *[]calendar.Shift { return &in.Calendar.Shifts },
		func(r *calendar.Shift) []cell {
			return []cell{
				text("code", &r.Code),
				weekdays("weekdays", &r.Weekdays),
				clock("start_time", &r.Start),
				clock("end_time", &r.End),
			}
		}),
	list(planner.TableClosures, 1, func(in *planner.Input) *[]calendar.Closure { return &in.Calendar.Closures },
		func(r *calendar.Closure) []cell {
			return []cell{
				text("code", &r.Code),
				date("from_day", &r.Span.From),
				date("to_day", &r.Span.To),
				text("note", &r.Note),
			}
		}),
	tableOf(planner.TableOutages, 1, outagesOf, takeOutages,
		func(r *outage) []cell {
			return []cell{
				text("code", &r.code),
				known("machine", &r.machine, planner.TableLines, planner.TableSteps),
				text("from_time", &r.from),
				text("to_time", &r.to),
				text("note", &r.note),
			}
		}),
}

// outage is a calendar.Outage with its instants as the plant's clock shows them.
type outage struct{ code, machine, from, to, note string }

func outagesOf(in *planner.Input) []outage {
	var rows []outage
	for _, o := range in.Calendar.Outages {
		rows = append(rows, outage{o.Code, o.Machine, wallClock(in.Calendar, o.From), wallClock(in.Calendar, o.To), o.Note})
	}
	return rows
}

func takeOutages(in *planner.Input, rows []outage) error {
	in.Calendar.Outages = nil
	for _, r := range rows {
		from, ok1 := instant(in.Calendar, r.from)
		to, ok2 := instant(in.Calendar, r.to)
		if !ok1 || !ok2 {
			return damaged("outage %s from %q to %q", r.code, r.from, r.to)
		}
		in.Calendar.Outages = append(in.Calendar.Outages, calendar.Outage{Code: r.code, Machine: r.machine, From: from, To: to, Note: r.note})
	}
	return nil
}

// offsetLayout is a wall-clock time with its offset from UTC, for one that the clocks show twice.
const offsetLayout = "2006-01-02 15:04 -07:00"

// wallClock is t on the plant's clock, with the offset behind it where the time alone stands for another instant.
// It is "", which the schema refuses, for what neither can say: parts of a minute, and days out of this era.
func wallClock(c calendar.Calendar, t time.Time) string {
	plain := c.FormatTime(t)
	zone := c.Zone
	if zone == nil {
		zone = time.UTC
	}
	for _, s := range []string{plain, t.In(zone).Format(offsetLayout)} {
		if back, ok := instant(c, s); ok && back.Equal(t) {
			return s
		}
	}
	return ""
}

// instant is what wallClock wrote.
func instant(c calendar.Calendar, s string) (time.Time, bool) {
	if t, err := c.ParseTime(s); err == nil {
		return t, true
	}
	t, err := time.Parse(offsetLayout, s)
	if err != nil {
		return t, false
	}
	if c.Zone == nil {
		return t.UTC(), true
	}
	return t.In(c.Zone), true
}
