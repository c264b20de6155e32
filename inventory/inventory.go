// Package inventory holds what the plant has and what is coming: materials, grades and recipes, lots,
// deliveries, lanes with their lead times, space, and the balance of stock.
package inventory

import (
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// Form is the shape a material is received in.
type Form string

// The forms.
const (
	Ingot   Form = "ingot"   // hot-melt densified
	Block   Form = "block"   // cold-pressed
	Flake   Form = "flake"   // ground
	Pellet  Form = "pellet"  // bought recycled pellet
	Virgin  Form = "virgin"  // virgin pellet
	Regrind Form = "regrind" // bought regrind; the plant's own is booked by grade
)

// Source is where a material's polymer was diverted from (ISO 14021 words).
type Source string

// The sources.
const (
	PostConsumer Source = "post-consumer"
	PreConsumer  Source = "pre-consumer"
	VirginSource Source = "virgin"
	InHouse      Source = "in-house"
)

// Material is something that can be bought and fed.
type Material struct {
	Code          string
	Name          string
	Form          Form
	Source        Source
	Polymer       string             // GPPS, HIPS or EPS
	Colour        string             // colour class, such as white
	MFR           float64            // melt flow rate 200 °C / 5 kg, g/10 min; 0 = not known
	Moisture      quantity.Share     // moisture and volatiles
	Contamination quantity.Share     // foreign matter
	Price         quantity.MassPrice // book value a kilogram
	BulkDensity   quantity.Density   // as stored in the yard; 0 = not known, takes up no room
}

// Grade is a pellet grade that profiles are made of.
type Grade struct {
	Code           string
	Name           string
	Silo           quantity.Mass  // silo capacity; 0 = not limited
	MFRMin, MFRMax float64        // window of the blend, g/10 min; 0 = not limited
	MinRecycled    quantity.Share // least recycled content
	MaxRegrind     quantity.Share // most own regrind in the feed
	MaxHIPS        quantity.Share // most HIPS in the feed; 1 = not limited
	StockTarget    quantity.Mass  // pellets to keep in the silo
}

// Ingredient bounds the share of a material in a grade's feed, by pelletized mass. A material without one can't be fed to the grade.
type Ingredient struct {
	Grade, Material    string
	MinShare, MaxShare quantity.Share // a MaxShare of 0 = not limited
}

// Lot is a received amount of a material in the yard.
type Lot struct {
	Code     string
	Material string
	Supplier string
	Mass     quantity.Mass // what is left of it
	Received calendar.Day
	Hold     bool // not available to the plan
	Reason   string
}

// DeliveryStatus is how far a delivery has come.
type DeliveryStatus string

// The statuses.
const (
	Ordered  DeliveryStatus = "ordered"
	Afloat   DeliveryStatus = "afloat"
	AtPort   DeliveryStatus = "at port"
	OnRoad   DeliveryStatus = "on the road"
	Received DeliveryStatus = "received" // already booked as a lot: not counted
	Rejected DeliveryStatus = "rejected" // not counted
)

// Delivery is an amount of a material on its way.
type Delivery struct {
	Code     string
	Lane     string // "" if it came on none of the lanes
	Material string
	Mass     quantity.Mass
	Ordered  calendar.Day // 0 = not known
	ETA      calendar.Day
	Spread   float64 // standard deviation of the arrival, days
	Status   DeliveryStatus
	Late     bool // said to be late; needed for an ETA in the past
	Note     string
}

// Distribution is a family of lead-time distributions.
type Distribution string

// The families.
const (
	Fixed     Distribution = "fixed"
	Normal    Distribution = "normal"
	Lognormal Distribution = "lognormal"
	Gamma     Distribution = "gamma"
)

// LeadTime is the days from order to availability in the yard.
type LeadTime struct {
	Distribution Distribution
	Mean, SD     float64 // days
}

// Supplier sells materials.
type Supplier struct {
	Code, Name, Country string
}

// Mode is what a lane's loads travel in, which bounds a load's weight and volume.
type Mode string

// The modes; see Equipment for their payload and volume.
const (
	Van         Mode = "van"          // 53 ft dry van
	Trailer     Mode = "trailer"      // 13.6 m curtainsider
	Container   Mode = "container 40" // 40 ft high cube
	Container20 Mode = "container 20" // 20 ft
	Bulk        Mode = "bulk"         // silo truck
)

// Lane is a way to buy: supplier × material × route.
type Lane struct {
	Code       string
	Name       string
	Supplier   string
	Material   string
	Mode       Mode
	Import     bool
	Load       quantity.Mass // mass of a whole load
	MinLoads   int           // least loads an order
	LoadsAWeek float64       // most loads a week; 0 = not limited
	LeadTime   LeadTime
	Price      quantity.MassPrice // in the lane's currency, see Rate
	Freight    quantity.Money     // per load, all in, in the lane's currency
	Currency   string             // ISO 4217; "" = the plant's
	Rate       float64            // plant currency per unit of lane currency; 0 = 1
	From, To   calendar.Day       // orders can be placed in [From, To); 0, 0 = always
	OrderDays  [7]bool            // weekdays on which orders can be placed, indexed by time.Weekday; none = every day
}

// StockKind says what a Stock row counts.
type StockKind string

// The kinds.
const (
	PelletStock  StockKind = "pellets" // by grade, kilograms
	RegrindStock StockKind = "regrind" // by grade, kilograms
	ProfileStock StockKind = "profile" // by profile, metres
)

// Stock is a counted amount at the start of the plan.
type Stock struct {
	Kind   StockKind
	Code   string          // grade or profile
	Mass   quantity.Mass   // for pellets and regrind
	Length quantity.Length // for profiles
}
