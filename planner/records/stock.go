package records

import (
	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// Count is stock found by counting or weighing. The book is set to it, and the difference is booked.
type Count struct {
	Code string
	Day  calendar.Day
	// What was counted: a lot, pellets or regrind of a grade, a profile.
	Counted Account
	Item    string
	Mass    quantity.Mass   // found; of all but profiles
	Length  quantity.Length // found; of profiles
	// What the book had: filled in when it is booked.
	BookMass   quantity.Mass
	BookLength quantity.Length
	Note       string
}

// Head is what every record has.
func (r Count) Head() Head { return Head{KindCount, r.Code, r.Day, r.Note} }

func (r Count) coded(s string) Record { r.Code = s; return r }

// Check says what is wrong with the count by itself.
func (r Count) Check() []quantity.Problem {
	var c quantity.Checks
	checkDay(&c, r.Day)
	c.OneOf("Counted", string(r.Counted), string(InLot), string(InPellets), string(InRegrind), string(InProfile))
	c.Named("Item", r.Item)
	c.NotNegative("Mass", float64(r.Mass), "kg")
	c.NotNegative("Length", float64(r.Length), "m")
	switch {
	case r.Counted == InProfile && r.Mass > 0:
		c.Add(quantity.Problem{Field: "Mass", Value: r.Mass.Format(quantity.Metric, 1), Allowed: "blank: profiles are counted in metres"})
	case r.Counted != InProfile && r.Length > 0:
		c.Add(quantity.Problem{Field: "Length", Value: r.Length.Format(quantity.Metric, 1), Allowed: "blank: only profiles are counted in metres"})
	}
	return c.Problems()
}

// ETAChange is a delivery's new date, or its new status. What was before is kept with it.
type ETAChange struct {
	Code     string
	Day      calendar.Day // on which it became known
	Delivery string
	ETA      calendar.Day             // 0 = as it was
	Spread   Measured                 // days; unknown = as it was
	Status   inventory.DeliveryStatus // "" = as it was
	Note     string                   // why
	// Of the delivery before: filled in when it is booked.
	WasETA    calendar.Day
	WasSpread float64
	WasStatus inventory.DeliveryStatus
	WasLate   bool
}

// Head is what every record has.
func (r ETAChange) Head() Head { return Head{KindETA, r.Code, r.Day, r.Note} }

func (r ETAChange) coded(s string) Record { r.Code = s; return r }

// Check says what is wrong with the change by itself.
func (r ETAChange) Check() []quantity.Problem {
	var c quantity.Checks
	checkDay(&c, r.Day)
	c.Named("Delivery", r.Delivery)
	if r.Spread.Known {
		c.Within("Spread", r.Spread.Value, 0, 365, "days")
	}
	if r.Status != "" {
		c.OneOf("Status", string(r.Status), string(inventory.Ordered), string(inventory.Afloat), string(inventory.AtPort), string(inventory.OnRoad), string(inventory.Rejected))
	}
	if r.ETA == 0 && !r.Spread.Known && r.Status == "" {
		c.Add(quantity.Problem{Field: "ETA", Value: "no day", Allowed: "a new ETA, spread or status"})
	}
	return c.Problems()
}

// Shipment is profile that left the rack, for an order or without one.
type Shipment struct {
	Code    string
	Day     calendar.Day
	Order   string // "" for none
	Profile string // "" = the order's
	Length  quantity.Length
	Note    string
}

// Head is what every record has.
func (r Shipment) Head() Head { return Head{KindShipment, r.Code, r.Day, r.Note} }

func (r Shipment) coded(s string) Record { r.Code = s; return r }

// Check says what is wrong with the shipment by itself.
func (r Shipment) Check() []quantity.Problem {
	var c quantity.Checks
	checkDay(&c, r.Day)
	if r.Order == "" {
		c.Named("Profile", r.Profile)
	}
	c.Positive("Length", float64(r.Length), "m")
	return c.Problems()
}
