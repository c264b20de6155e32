package inventory

import (
	"fmt"

	"feedline/inventory/quantity"
)

// Equipment is what a mode's loads travel in.
type Equipment struct {
	Mode    Mode
	Name    string
	Payload quantity.Mass   // by its rating
	USRoad  quantity.Mass   // most cargo that is legal on US roads on usual axles; 0 = the payload
	Volume  quantity.Volume // inside
	Source  string          // where the figures come from
}

// EquipmentTable is the payload and the volume of each mode. Typical figures: a carrier's own count.
var EquipmentTable = []Equipment{
	{Van, "53 ft dry van", 45000 * quantity.KgPerPound, 0, 3900 * quantity.M3PerFoot3,
		"US trailer guides: 3 800–4 000 ft³, 42 000–45 000 lb, 80 000 lb gross"},
	{Trailer, "13.6 m curtainsider", 24000, 0, 85,
		"European carriers' guides: 85–92 m³, 24 t, 33 pallets"},
	{Container, "40 ft high-cube container", 26540, 19958, 76.3,
		"container guides: 76.2–76.3 m³, 26.5 t; US road 44 000 lb"},
	{Container20, "20 ft container", 28180, 17237, 33.2,
		"container guides: 33.1–33.2 m³, 30.48 t less 2.30 t tare; US road 38 000 lb"},
	{Bulk, "silo truck", 25000, 0, 60,
		"common practice, no published source"},
}

// EquipmentOf finds the equipment of a mode.
func EquipmentOf(m Mode) (Equipment, bool) {
	for _, e := range EquipmentTable {
		if e.Mode == m {
			return e, true
		}
	}
	return Equipment{}, false
}

// BreakEven is the density above which a load is bounded by weight and below which by volume: payload ÷ volume.
func (e Equipment) BreakEven() quantity.Density {
	return quantity.Density(float64(e.Payload) / float64(e.Volume))
}

// FullLoad is the most that fits at a bulk density, and whether weight bounds it rather than volume. A density of 0
// is not known: then weight bounds it.
func (e Equipment) FullLoad(bulk quantity.Density) (m quantity.Mass, byWeight bool) {
	if byVolume := quantity.Mass(float64(bulk) * float64(e.Volume)); bulk > 0 && byVolume < e.Payload {
		return byVolume, false
	}
	return e.Payload, true
}

// loadDensity is the density in kg/m³ that no load has on the whole: that of solid polystyrene.
const loadDensity = 1050

// CheckLoad says what is wrong or doubtful about a net weight in the equipment: beyond the payload, denser than solid
// polystyrene over the volume it is said to fill (0 = not known), too much to fit at its bulk density (0 = not known), or more than US roads
// allow. The problems' field is the given one.
func (e Equipment) CheckLoad(field string, net quantity.Mass, filled quantity.Volume, bulk quantity.Density) []quantity.Problem {
	var c quantity.Checks
	kg := func(m quantity.Mass) string { return m.Format(quantity.Metric, 0) }
	problem := func(allowed, remedy string, warning bool) {
		c.Add(quantity.Problem{Field: field, Value: kg(net), Allowed: allowed, Remedy: remedy, Warning: warning})
	}
	full, _ := e.FullLoad(bulk)
	switch {
	case !(net > 0) || net > e.Payload:
		problem(fmt.Sprintf("above 0, up to %s, the payload of a %s", kg(e.Payload), e.Name), "check the weight and the mode", false)
	case filled > 0 && float64(net)/float64(filled) > loadDensity:
		problem(fmt.Sprintf("up to %s in %.4g m³: solid polystyrene has %d kg/m³", kg(quantity.Mass(loadDensity*float64(filled))), float64(filled), loadDensity),
			"check the ticket", false)
	case net > full:
		problem(fmt.Sprintf("as a rule up to %s: a %s holds no more at %.4g kg/m³", kg(full), e.Name, float64(bulk)), "check the weight and the bulk density", true)
	case e.USRoad > 0 && net > e.USRoad:
		problem(fmt.Sprintf("as a rule up to %s on US roads", kg(e.USRoad)), "heavier ones need special axles or permits", true)
	}
	return c.Problems()
}

// CheckLane warns of a lane whose load does not fit its equipment at the material's bulk density. It says nothing of
// what Lane.Check says already.
func CheckLane(l Lane, m Material) []quantity.Problem {
	e, ok := EquipmentOf(l.Mode)
	if !ok || len(e.CheckLoad("Load", l.Load, 0, 0)) > 0 {
		return nil
	}
	return e.CheckLoad("Load", l.Load, 0, m.BulkDensity)
}
