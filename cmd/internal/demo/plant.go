package demo

import (
	"time"
	_ "time/tzdata" // the plant's zone must be there on a machine without a zone database

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

const zoneName = "Europe/Brussels"

func location() *time.Location {
	zone, err := time.LoadLocation(zoneName)
	if err != nil {
		panic("demo: the embedded zone database lacks the plant's zone")
	}
	return zone
}

func plant() planner.Plant {
	return planner.Plant{
		Name:            "Tolverdale Profile Works",
		Currency:        "EUR",
		Zone:            zoneName,
		Units:           quantity.Metric,
		Yard:            700,
		Rack:            1800,
		Crew:            12,
		CrewCost:        27,
		FitterHours:     14,
		FitterCost:      33,
		EnergyPrice:     0.17,
		RegrindYield:    0.92,
		HoldingRate:     0.12,
		LateCostADay:    0.03,
		UnmetCost:       0.25,
		ShortfallPrice:  60,
		ArrivalQuantile: 0.8,
		ServiceLevel:    0.95,
		DailyDays:       14,
		Weeks:           26,
		FrozenDays:      3,
		ChangeCost:      120,
	}
}

// workingTime is three shifts from Monday to Friday and one on Saturday: 128 hours a week.
func workingTime(start calendar.Day, zone *time.Location) calendar.Calendar {
	weekdays := [7]bool{false, true, true, true, true, true, false}
	saturday := [7]bool{6: true}
	return calendar.Calendar{
		Zone: zone,
		Shifts: []calendar.Shift{
			{Code: "early", Weekdays: weekdays, Start: 6 * time.Hour, End: 14 * time.Hour},
			{Code: "late", Weekdays: weekdays, Start: 14 * time.Hour, End: 22 * time.Hour},
			{Code: "night", Weekdays: weekdays, Start: 22 * time.Hour, End: 30 * time.Hour},
			{Code: "saturday", Weekdays: saturday, Start: 6 * time.Hour, End: 14 * time.Hour},
		},
		Closures: []calendar.Closure{
			{Code: "lantern-fair", Span: calendar.Span{From: on(start, 4, 3), To: on(start, 4, 5)}, Note: "Lantern Fair, public holiday"},
			{Code: "stocktaking", Span: calendar.Span{From: on(start, 15, 0), To: on(start, 15, 1)}, Note: "Stocktaking"},
		},
		Outages: []calendar.Outage{
			{Code: "screw-L3", Machine: "L3", From: clock(on(start, 2, 1), 6, zone), To: clock(on(start, 2, 2), 14, zone), Note: "Screw and barrel measured and changed"},
			{Code: "filter-PEL", Machine: "PEL", From: clock(on(start, 1, 2), 6, zone), To: clock(on(start, 1, 2), 14, zone), Note: "Melt filter housings serviced"},
		},
	}
}

// on is day (0 = Monday) of the given week, the week of start being 0.
func on(start calendar.Day, week, day int) calendar.Day {
	return start.Monday() + calendar.Day(7*week+day)
}

// clock is an hour of d on the plant's clock.
func clock(d calendar.Day, hour int, zone *time.Location) time.Time {
	y, m, day := d.UTC().Date()
	return time.Date(y, m, day, hour, 0, 0, 0, zone)
}

func pins(start calendar.Day) []planner.Pin {
	return []planner.Pin{
		{Code: "purge-L4", Kind: planner.PinForbid, Line: "L4", Profile: "SL60", From: start, To: start + 5, Note: "No black on L4 before its screw is purged"},
	}
}
