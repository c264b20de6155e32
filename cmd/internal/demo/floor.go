package demo

import (
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
)

// product is a profile with what the demonstration knows beside it.
type product struct {
	code, name, grade, family string
	perMetre                  float64 // kg
	dies                      int
	litres                    float64 // rack litres a metre
	weekly                    float64 // metres sold in a usual week
	stock                     float64 // metres in the rack at the start
}

// products weigh about 47 t in a usual week: 28 t white, 12 t grey, 7 t black.
var products = []product{
	{"AR50", "Architrave 50", white, "AR", 0.21, 1, 1.6, 7600, 4800},
	{"AR70", "Architrave 70", white, "AR", 0.30, 1, 2.2, 6600, 5400},
	{"AR95", "Architrave 95", white, "AR", 0.42, 1, 3.0, 3300, 1500},
	{"CV40", "Coving 40", white, "CV", 0.12, 1, 1.9, 13200, 9000},
	{"CV60", "Coving 60", white, "CV", 0.18, 2, 2.8, 16500, 15000},
	{"CV90", "Coving 90", white, "CV", 0.27, 1, 4.6, 8700, 4200},
	{"PK110", "Plank 110", grey, "PK", 0.45, 1, 3.2, 6900, 6000},
	{"PK140", "Plank 140", grey, "PK", 0.58, 1, 4.0, 4800, 2400},
	{"PK180", "Plank 180", black, "PK", 0.70, 1, 5.0, 4200, 3600},
	{"PR20", "Picture rail 20", black, "PR", 0.10, 1, 0.7, 9000, 8400},
	{"PR35", "Picture rail 35", black, "PR", 0.16, 1, 1.1, 8100, 3600},
	{"SK100", "Skirting 100", white, "SK", 0.50, 2, 2.6, 9300, 7500},
	{"SK120", "Skirting 120", white, "SK", 0.66, 1, 3.2, 4800, 2100},
	{"SK60", "Skirting 60", white, "SK", 0.28, 1, 1.5, 11400, 9600},
	{"SK80", "Skirting 80", white, "SK", 0.38, 2, 2.0, 13200, 9900},
	{"SL30", "Wall slat 30", grey, "SL", 0.15, 2, 1.0, 19800, 18000},
	{"SL45", "Wall slat 45", grey, "SL", 0.22, 1, 1.4, 13500, 7200},
	{"SL60", "Wall slat 60", black, "SL", 0.32, 1, 1.9, 6300, 5700},
}

// family is what the lines need to know of a die family.
type family struct {
	code    string
	haulOff float64 // m/min a strand
	strands int
	load    float64 // share of the line's melt limit that the die takes
	quality float64
}

var families = []family{
	{"AR", 8, 1, 0.95, 0.965},
	{"CV", 9, 2, 0.92, 0.955},
	{"PK", 5, 1, 1.00, 0.97},
	{"PR", 9, 2, 0.90, 0.96},
	{"SK", 6.5, 1, 1.00, 0.965},
	{"SL", 8, 2, 0.95, 0.96},
}

// machine is a line's melt limit, its availability and the families that it has calibrators for.
type machine struct {
	line         string
	melt         float64 // kg/h
	availability float64
	families     []string
}

var machines = []machine{
	{"L1", 142, 0.89, []string{"SK", "PK", "AR"}},
	{"L2", 132, 0.88, []string{"SK", "PK"}},
	{"L3", 98, 0.87, []string{"AR", "CV", "SL"}},
	{"L4", 94, 0.88, []string{"CV", "SL", "AR"}},
	{"L5", 72, 0.90, []string{"CV", "SL", "PR"}},
	{"L6", 128, 0.86, []string{"SK", "AR", "SL"}},
	{"L7", 158, 0.88, []string{"SK", "PK"}},
}

func profiles() []lines.Profile {
	var list []lines.Profile
	for _, p := range products {
		list = append(list, lines.Profile{
			Code: p.code, Name: p.name, Grade: p.grade, PerMetre: quantity.LinearDensity(p.perMetre),
			DieFamily: p.family, Dies: p.dies, Price: price(p), RackLitresPerMetre: p.litres,
			StockTarget: quantity.Length(roundTo(0.25*p.weekly, 300)),
		})
	}
	return list
}

// price is a list price of about 3.5 EUR/kg, to the cent.
func price(p product) quantity.LengthPrice {
	cents := int(100*(0.14+3.3*p.perMetre) + 0.5)
	return quantity.LengthPrice(float64(cents) / 100)
}

func floor(start calendar.Day) []lines.Line {
	line := func(code, name, mounted string, screw, base, slope float64) lines.Line {
		return lines.Line{Code: code, Name: name, Mounted: mounted, Crew: 2, ScrewMM: screw, BaseKW: base, KWhPerKg: slope,
			Startup: lines.Startup{Hours: 5, Scrap: 70, Cost: 600}, MinRunDays: 14, MinStopDays: 7}
	}
	list := []lines.Line{
		line("L1", "Line 1", "SK80", 75, 24, 0.26),
		line("L2", "Line 2", "PK110", 75, 23, 0.27),
		line("L3", "Line 3", "CV60", 65, 17, 0.28),
		line("L4", "Line 4", "SL30", 65, 17, 0.29),
		line("L5", "Line 5", "PR35", 60, 12, 0.30),
		line("L6", "Line 6", "SK100", 75, 22, 0.28),
		line("L7", "Line 7", "", 80, 26, 0.25),
	}
	list[5].State, list[5].Note = lines.Ready, "Stands cold since the autumn; released after lockout check only"
	list[6].State, list[6].Note = lines.Uncommissioned, "Delivered, not wired"
	list[6].Commissioning = lines.Commissioning{Earliest: on(start, 4, 0), Days: 12, Cost: 16500}
	return list
}

func fits() []lines.Fit {
	var list []lines.Fit
	for _, m := range machines {
		for _, p := range products {
			if f, ok := familyOn(m, p.family); ok {
				list = append(list, lines.Fit{Line: m.line, Profile: p.code,
					Melt: quantity.MassRate(roundTo(m.melt*f.load, 1)), HaulOff: quantity.Speed(f.haulOff), Strands: f.strands,
					Availability: quantity.Share(m.availability), Quality: quantity.Share(f.quality)})
			}
		}
	}
	return list
}

func familyOn(m machine, code string) (family, bool) {
	for _, c := range m.families {
		for _, f := range families {
			if c == code && f.code == code {
				return f, true
			}
		}
	}
	return family{}, false
}

// changeovers: a sister die goes on in little more than an hour, another family takes a new calibrator table as well.
func changeovers() []lines.Changeover {
	list := []lines.Changeover{
		{From: "*", To: "*", Hours: 2.75, Scrap: 28, FitterHours: 3.5, Cost: 25},
		{From: "*", To: "PK", Hours: 3.25, Scrap: 40, FitterHours: 4.5, Cost: 35},
		{From: "PR", To: "*", Hours: 2.25, Scrap: 20, FitterHours: 3, Cost: 20},
	}
	for _, f := range families {
		list = append(list, lines.Changeover{From: f.code, To: f.code, Hours: 1.25, Scrap: 14, FitterHours: 1.5, Cost: 10})
	}
	return list
}
