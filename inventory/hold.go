package inventory

import (
	"fmt"

	"feedline/inventory/quantity"
)

// Use is what a lot's polymer is made into, for limits that depend on it.
type Use string

// The uses.
const (
	Moulding   Use = "moulding"   // profiles and other articles
	Insulation Use = "insulation" // EPS or XPS for buildings and civil works
)

// HBCDDLimit is the most hexabromocyclododecane in mg/kg that recycled polystyrene may carry unintentionally:
// 75 in articles, 100 in insulation for buildings. Regulation (EU) 2019/1021, Annex I, as amended by (EU) 2024/2555. The limit
// that holds where the plant is takes precedence.
func HBCDDLimit(u Use) float64 {
	if u == Insulation {
		return 100
	}
	return 75
}

// ScreenHBCDD is l put on hold, with the reason, if a screen found more than the limit for the use, or found nothing that
// is a number: a lot whose screen is not known waits. The reason is added to one that the lot has already.
// A screen within the limit changes nothing: it frees no lot.
func ScreenHBCDD(l Lot, mgPerKg float64, u Use) Lot {
	limit := HBCDDLimit(u)
	if mgPerKg >= 0 && mgPerKg <= limit {
		return l
	}
	reason := fmt.Sprintf("HBCDD %g mg/kg, limit %g mg/kg for %s", mgPerKg, limit, u)
	if !(mgPerKg >= 0) {
		reason = fmt.Sprintf("HBCDD not screened, limit %g mg/kg for %s", limit, u)
	}
	if l.Hold && l.Reason != "" {
		reason = l.Reason + "; " + reason
	}
	l.Hold, l.Reason = true, reason
	return l
}

// StorageFlag is a height of storage from which a fire code asks for more. It is a reminder: the local code decides.
type StorageFlag struct {
	Above  quantity.Length
	Source string
	Says   string
}

// storageFlags is for expanded or exposed polystyrene, a Group A plastic.
var storageFlags = []StorageFlag{
	{5 * quantity.MetrePerFoot, "NFPA 13", "rules for Group A plastics begin; exposed expanded ones in racks need a design of their own"},
	{6 * quantity.MetrePerFoot, "IFC chapter 32", "high-piled storage of high-hazard goods, where the code official asks for it"},
	{12 * quantity.MetrePerFoot, "IFC chapter 32", "high-piled storage of any goods"},
}

// StorageFlags is what a storage height of polystyrene foam calls to mind, lowest first; nil at 5 ft and below.
func StorageFlags(height quantity.Length) []StorageFlag {
	var list []StorageFlag
	for _, f := range storageFlags {
		if height > f.Above {
			list = append(list, f)
		}
	}
	return list
}
