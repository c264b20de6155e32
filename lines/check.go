package lines

import (
	"fmt"
	"math"

	"feedline/inventory/quantity"
)

var inf = math.Inf(1)

// Bounds of what is usual. Outside of them there is a warning; what is impossible is a fault. Those without a source
// named are common practice of the trade, no published source.
const (
	usualPerMetreLow    = 0.02  // kg/m: a thin trim
	usualPerMetreHigh   = 5     // kg/m: a heavy slat
	usualSpeedHigh      = 30    // m/min: believed possible for profiles (trade press, 2006)
	usualStrandsHigh    = 8     // strands
	usualAvailability   = 0.5   // running ÷ crewed; a survey of 165 processors has 0.75 on average
	usualQuality        = 0.8   // good ÷ all
	usualSetupHours     = 12    // h; dies with a calibrator take 1 to 6 h
	usualStartupHours   = 12    // h; cold start to good product takes 2 to 4 h
	usualScrap          = 1000  // kg a start-up or changeover
	usualEnergyLow      = 0.084 // kWh/kg: heating polystyrene from 20 to 200 °C takes that much
	usualEnergyHigh     = 3     // kWh/kg: the survey's average of all processes is 2.87
	usualScrewLow       = 20    // mm
	usualScrewHigh      = 300   // mm
	usualCrewHigh       = 10    // people a line
	usualMetresADayLow  = 1500  // good metres a line and day: eight moulding lines that make 55 000 ft a day
	usualMetresADayHigh = 3000  // in all make 2 100 m each
)

// Check says what is wrong or doubtful about a profile by itself.
func (p Profile) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Code", p.Code)
	c.Named("Grade", p.Grade)
	c.Positive("PerMetre", float64(p.PerMetre), "kg/m")
	c.Usual("PerMetre", float64(p.PerMetre), usualPerMetreLow, usualPerMetreHigh, "kg/m", "is it per metre, in kilograms?")
	c.Within("Dies", float64(p.Dies), 1, inf, "")
	c.NotNegative("Price", float64(p.Price), "a metre")
	c.NotNegative("RackLitresPerMetre", p.RackLitresPerMetre, "L/m")
	c.NotNegative("StockTarget", float64(p.StockTarget), "m")
	p.checkPacking(&c)
	return c.Problems()
}

// checkPacking refuses a profile that would be packed denser than solid polystyrene.
func (p Profile) checkPacking(c *quantity.Checks) {
	if p.RackLitresPerMetre <= 0 || !(p.PerMetre > 0) {
		return
	}
	if packed := float64(p.PerMetre) / p.RackLitresPerMetre * 1000; packed > quantity.MaxDensity {
		c.Add(quantity.Problem{Field: "RackLitresPerMetre", Value: fmt.Sprintf("%g L/m", p.RackLitresPerMetre),
			Allowed: fmt.Sprintf("%.4g L/m or more: no more than %v kg/m³", float64(p.PerMetre)/quantity.MaxDensity*1000, quantity.MaxDensity),
			Remedy:  "it is the volume a metre takes up packed, in litres"})
	}
}

// Check says what is wrong or doubtful about a line by itself.
func (l Line) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Code", l.Code)
	if l.State < Running || l.State > Uncommissioned {
		c.Add(quantity.Problem{Field: "State", Value: fmt.Sprint(int(l.State)), Allowed: "running, ready, down, uncommissioned"})
	}
	if l.State == Down && l.DownUntil == 0 {
		c.Add(quantity.Problem{Field: "DownUntil", Value: "no day", Allowed: "the first day back, for a line that is down"})
	}
	c.NotNegative("Commissioning.Days", float64(l.Commissioning.Days), "days")
	c.NotNegative("Commissioning.Cost", float64(l.Commissioning.Cost), "")
	c.NotNegative("Crew", l.Crew, "people")
	c.Usual("Crew", l.Crew, 0, usualCrewHigh, "people", "it is the people at this line while it runs")
	c.NotNegative("Startup.Hours", float64(l.Startup.Hours), "h")
	c.NotNegative("Startup.Scrap", float64(l.Startup.Scrap), "kg")
	c.NotNegative("Startup.Cost", float64(l.Startup.Cost), "")
	c.Usual("Startup.Scrap", float64(l.Startup.Scrap), 0, usualScrap, "kg", "is it per start?")
	c.NotNegative("MinRunDays", float64(l.MinRunDays), "days")
	c.NotNegative("MinStopDays", float64(l.MinStopDays), "days")
	c.NotNegative("BaseKW", l.BaseKW, "kW")
	c.NotNegative("KWhPerKg", l.KWhPerKg, "kWh/kg")
	if l.KWhPerKg > 0 {
		c.Usual("KWhPerKg", l.KWhPerKg, usualEnergyLow, usualEnergyHigh, "kWh/kg", "heating polystyrene to 200 °C takes 0.084 kWh/kg")
	}
	l.checkScrew(&c)
	return c.Problems()
}

// checkScrew looks at the screw's diameter and at the start-up time that goes with it.
func (l Line) checkScrew(c *quantity.Checks) {
	c.NotNegative("ScrewMM", l.ScrewMM, "mm")
	soak := 0.0
	if l.ScrewMM > 0 {
		c.Usual("ScrewMM", l.ScrewMM, usualScrewLow, usualScrewHigh, "mm", "is it in millimetres?")
		soak = float64(HeatSoak(l.ScrewMM))
	}
	c.Usual("Startup.Hours", float64(l.Startup.Hours), soak, usualStartupHours, "h", "the heat soak of the screw is part of it")
}

// Check says what is wrong or doubtful about a fit by itself. See CheckFit for it beside its line and profile.
func (f Fit) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Line", f.Line)
	c.Named("Profile", f.Profile)
	c.NotNegative("Melt", float64(f.Melt), "kg/h")
	c.NotNegative("HaulOff", float64(f.HaulOff), "m/min")
	if f.Melt == 0 && f.HaulOff == 0 {
		c.Add(quantity.Problem{Field: "Melt", Value: "0 kg/h", Allowed: "more than 0", Remedy: "enter the melt limit, the haul-off limit or both"})
	}
	c.Usual("HaulOff", float64(f.HaulOff), 0, usualSpeedHigh, "m/min", "is it per minute, and a strand?")
	c.Within("Strands", float64(f.Strands), 1, inf, "")
	c.Usual("Strands", float64(f.Strands), 1, usualStrandsHigh, "", "")
	checkRatio(&c, "Availability", f.Availability, usualAvailability, "changeovers, start-ups and planned outages are not in it")
	checkRatio(&c, "Quality", f.Quality, usualQuality, "it is good metres ÷ all metres")
	return c.Problems()
}

// checkRatio asks for a share above 0 and up to 1, and warns below low.
func checkRatio(c *quantity.Checks, field string, s quantity.Share, low float64, remedy string) {
	if !(s > 0 && s <= 1) {
		c.Add(quantity.Problem{Field: field, Value: fmt.Sprintf("%g", float64(s)), Allowed: "above 0, up to 1", Remedy: "write 90 % as 0.9"})
		return
	}
	c.Usual(field, float64(s), low, 1, "", remedy)
}

// CheckFit warns of a melt limit beyond what the line's screw can plausibly give, and of a rate far from that of
// usual moulding lines over a day of 24 hours. The problems' fields are of the Fit.
func CheckFit(p Profile, l Line, f Fit) []quantity.Problem {
	var c quantity.Checks
	if typical, ceiling := PlausibleMelt(l.ScrewMM); ceiling > 0 {
		c.Usual("Melt", float64(f.Melt), 0, float64(ceiling), "kg/h",
			fmt.Sprintf("a %g mm screw gives about %.0f kg/h: check the rate and the screw", l.ScrewMM, float64(typical)))
	}
	if r := Rate(p, f); r.GoodMetresPerHour > 0 {
		day := float64(r.MetresPerDay(24))
		c.Usual("HaulOff", day, usualMetresADayLow/10.0, usualMetresADayHigh*10, "good metres in 24 h",
			fmt.Sprintf("moulding lines make %d to %d m a day as a rule", usualMetresADayLow, usualMetresADayHigh))
	}
	return c.Problems()
}

// Check says what is wrong or doubtful about a changeover by itself.
func (x Changeover) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("To", x.To)
	c.NotNegative("Hours", float64(x.Hours), "h")
	c.Usual("Hours", float64(x.Hours), 0, usualSetupHours, "h", "a die change takes 1 to 6 h as a rule")
	c.NotNegative("Scrap", float64(x.Scrap), "kg")
	c.Usual("Scrap", float64(x.Scrap), 0, usualScrap, "kg", "a purge takes 5 to 50 kg as a rule")
	c.NotNegative("FitterHours", float64(x.FitterHours), "h")
	c.NotNegative("Cost", float64(x.Cost), "")
	return c.Problems()
}
