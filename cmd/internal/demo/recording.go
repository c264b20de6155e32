package demo

import (
	"feedline/inventory"
	"feedline/lines"
)

// reasons is the works' own list of why a line stands.
func reasons() []lines.Reason {
	return []lines.Reason{
		{Code: "DIE", Name: "Die blocked or burnt", Kind: lines.Stop},
		{Code: "FEED", Name: "No pellets at the hopper", Kind: lines.Stop},
		{Code: "SCREEN", Name: "Screen pack changed", Kind: lines.Stop},
		{Code: "HAUL", Name: "Haul-off or saw out of order", Kind: lines.Stop},
		{Code: "POWER", Name: "Power failure", Kind: lines.Stop},
		{Code: "CREW", Name: "Crew short", Kind: lines.Stop},
		{Code: "IDLE", Name: "No orders for the line", Kind: lines.PlannedStop},
	}
}

func limits() []inventory.Limit {
	return []inventory.Limit{
		{Measure: inventory.HBCDD, Use: "EU, profiles", Most: 75, Source: "Regulation (EU) 2019/1021, Annex I, as amended by (EU) 2024/2555"},
		{Measure: inventory.Contamination, Use: "own", Most: 0.06, Source: "melt filter's maker"},
	}
}
