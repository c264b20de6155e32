package planner

import "feedline/inventory"

// vehicle is what equipment carries.
type vehicle struct{ payload, volume float64 } // kg, m³

// equipment is what carries a lane's load; false if its mode is not known.
func equipment(l inventory.Lane) (vehicle, bool) {
	e, ok := vehicles[l.Mode]
	return e, ok
}

var vehicles = map[inventory.Mode]vehicle{
	inventory.Van:         {20412, 113}, // 45 000 lb; 4 000 ft³
	inventory.Trailer:     {24000, 92},
	inventory.Container:   {26500, 76.3},
	inventory.Container20: {28180, 33.2},
}
