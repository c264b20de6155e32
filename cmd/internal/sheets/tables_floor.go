package sheets

import (
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/planner"
)

// Units outside of the quantities. 1 ft³/ft is 28.316846592 L on 0.3048 m, exactly 92.90304 L/m.
var (
	screwUnits  = []label{{"mm", quantity.Metric, "1", "1"}, {"in", quantity.US, "25.4", "1"}}
	rackUnits   = []label{{"L/m", quantity.Metric, "1", "1"}, {"ft³/ft", quantity.US, "92.90304", "1"}}
	energyUnits = []label{{"kWh/kg", quantity.Metric, "1", "1"}, {"kWh/lb", quantity.US, "1", "0.45359237"}}
)

var floorTables = []table{
	{name: planner.TableProfiles, needed: true, keys: 1, rows: func(in *planner.Input) any { return &in.Profiles },
		explain: "what is extruded and sold", columns: []column{
			code("Code", "short code of the profile", "SK80").need(),
			text("Name", "its name", "Skirting 80 mm"),
			code("Grade", "code of the grade that it is made of", "WHITE").need(),
			amount("PerMetre", quantity.KindLinearDensity, "mass of good profile", "0.38").need().positive(),
			code("DieFamily", "changeovers are given between families", "SKIRTING"),
			whole("Dies", "die sets owned: it runs on no more lines at once; blank is 1", "1").or("1"),
			amount("Price", quantity.KindLengthPrice, "list price", "1.4"),
			num("RackLitresPerMetre", rackUnits, "room that it takes up in the rack, packed", "1.6"),
			length("StockTarget", "rack stock to keep", "4000"),
		}},
	{name: planner.TableLines, needed: true, keys: 1, rows: func(in *planner.Input) any { return &in.Lines },
		explain: "extrusion lines, with what they are doing at the start of the plan", columns: []column{
			code("Code", "short code of the line", "L1").need(),
			text("Name", "its name", "Line 1, 75 mm"),
			states("State", "running (crewed and hot), ready (standing idle), down (out of order), uncommissioned (never run here); blank is running", "running"),
			of(kindDay, "DownUntil", "first day back, for a line that is down", ""),
			of(kindDay, "Commissioning.Earliest", "first day that commissioning can begin, for an uncommissioned line", ""),
			whole("Commissioning.Days", "days from the decision to the first running hour", ""),
			money("Commissioning.Cost", "cost of commissioning", ""),
			code("Mounted", "code of the profile whose die is on the line; blank if none is", "SK80"),
			num("Crew", crew, "people while it runs", "1.5"),
			hours("Startup.Hours", "from cold to good product: heat soak and trimming in", "3"),
			mass("Startup.Scrap", "pellets used up by a start", "60"),
			money("Startup.Cost", "cost of a start beside crew and scrap", "120"),
			whole("MinRunDays", "once started it runs at least so many days", "3"),
			whole("MinStopDays", "once stopped it stands at least so many days", "2"),
			num("ScrewMM", screwUnits, "to tell whether the rates are plausible; blank if it is not known", "75"),
			num("BaseKW", unitless("kW"), "power drawn whenever it runs", "25"),
			num("KWhPerKg", energyUnits, "energy beside the base power, by mass of pellets", "0.25"),
			text("Note", "anything", ""),
		}},
	{name: planner.TableRates, needed: true, keys: 2, rows: func(in *planner.Input) any { return &in.Fits },
		explain: "how a line runs a profile; a line without a row for a profile can't make it", columns: []column{
			code("Line", "code of a line", "L1").need(),
			code("Profile", "code of a profile", "SK80").need(),
			amount("Melt", quantity.KindMassRate, "most that the extruder gives; blank if only the haul-off limits", "140"),
			amount("HaulOff", quantity.KindSpeed, "fastest haul-off, a strand; blank if only the melt limits", "6.5"),
			whole("Strands", "profiles side by side; blank is 1", "1").or("1"),
			share("Availability", "running ÷ crewed hours; changeovers, start-ups and planned outages not counted", "0.88").need().positive(),
			share("Quality", "good ÷ all metres", "0.97").need().positive(),
		}},
	{name: planner.TableChangeovers, keys: 2, rows: func(in *planner.Input) any { return &in.Changeovers },
		explain: "what changing from a die family to another takes; the most exact row counts: both named, then any to the one, then the one to any, then any to any", columns: []column{
			code("From", "die family that comes off; * for any, blank for a line with no die on it", "SKIRTING"),
			code("To", "die family that goes on; * for any", "*").need(),
			hours("Hours", "line hours without product", "2.5"),
			mass("Scrap", "pellets used up", "30"),
			hours("FitterHours", "hours of fitters' work", "4"),
			money("Cost", "cost beside the above", "25"),
		}},
}

func states(field, explain, example string) column {
	c := word(field, []string{"running", "ready", "down", "uncommissioned"}, explain, example).or("running")
	c.stored = []any{lines.Running, lines.Ready, lines.Down, lines.Uncommissioned}
	return c
}

var calendarTables = []table{
	{name: planner.TableShifts, needed: true, keys: 1, rows: func(in *planner.Input) any { return &in.Calendar.Shifts },
		explain: "working periods of the week", columns: []column{
			code("Code", "short code of the shift", "early").need(),
			of(kindWeekdays, "Weekdays", "days that it starts on, such as mon-fri, or sat sun, or daily", "mon-fri").need(),
			of(kindClock, "Start", "wall-clock time, HH:MM", "06:00").need(),
			of(kindEndClock, "End", "wall-clock time, HH:MM; on the next day if it is not after the start", "14:00").need(),
		}},
	{name: planner.TableClosures, keys: 1, rows: func(in *planner.Input) any { return &in.Calendar.Closures },
		explain: "days without any shift: holidays, stocktaking, plant shut-down", columns: []column{
			code("Code", "short code of the closure", "summer").need(),
			of(kindDay, "Span.From", "first closed day", "2027-08-02").need(),
			of(kindLastDay, "Span.To", "last closed day", "2027-08-15").need(),
			text("Note", "anything", "Works holiday"),
		}},
	{name: planner.TableOutages, keys: 1, rows: func(in *planner.Input) any { return &in.Calendar.Outages },
		explain: "one machine out of work, such as planned maintenance", columns: []column{
			code("Code", "short code of the outage", "M-12").need(),
			code("Machine", "code of a line or of a step", "L1").need(),
			of(kindMoment, "From", "wall-clock time in the plant's zone, YYYY-MM-DD HH:MM, or a day for its start", "2027-03-15 06:00").need(),
			of(kindMoment, "To", "wall-clock time from which it works again", "2027-03-15 14:00").need(),
			text("Note", "anything", "Gearbox oil"),
		}},
}
