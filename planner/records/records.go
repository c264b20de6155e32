// Package records holds what a plant writes down: receipts and tests of lots, process runs, extrusion runs, counts, changed
// ETAs and shipments; how each is booked against stock, to the gram; what became of a lot; and the recycled content that follows.
//
// Nothing that was recorded is changed or taken out: a wrong entry is reversed by another, see Ledger.Reverse. Postings are in
// whole grams, and those of an entry add up to zero: what leaves one account comes to another, be it the world outside, a loss
// or a difference that a count has found.
package records

import (
	"time"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// Kind is what an entry records.
type Kind string

// The kinds.
const (
	KindReceipt  Kind = "receipt"  // a weighed lot
	KindTest     Kind = "test"     // results of a lot, a hold or a release
	KindProcess  Kind = "process"  // a run of a step before extrusion
	KindRun      Kind = "run"      // an extrusion run
	KindCount    Kind = "count"    // a count of stock
	KindETA      Kind = "eta"      // a delivery's new date
	KindShipment Kind = "shipment" // profile that left for a customer
	KindReversal Kind = "reversal" // takes another entry back
)

// Kinds is what can be recorded, in the order in which a batch is booked on the same day.
var Kinds = []Kind{KindReceipt, KindTest, KindETA, KindProcess, KindRun, KindShipment, KindCount}

// Head is what every record has.
type Head struct {
	Kind Kind
	Code string       // ticket or number: told apart by it among those of its kind; "" to have one given
	Day  calendar.Day // on which it happened
	Note string
}

// Record is one thing written down: a Receipt, Test, Process, Run, Count, ETAChange or Shipment.
type Record interface {
	Head() Head
	// Check says what is wrong with the record by itself; fields are Go names.
	Check() []quantity.Problem
	// coded is the record with another code.
	coded(string) Record
}

// Measured is a result that may be missing.
type Measured struct {
	Known bool
	Value float64
}

// Is is a known result.
func Is(v float64) Measured { return Measured{true, v} }

// Account is where mass can be.
type Account string

// The accounts. Outside's code is a supplier, an order or a customer, Loss's a step or a line, Difference's what was counted.
const (
	InLot      Account = "lot"
	InPellets  Account = "pellets" // by grade
	InRegrind  Account = "regrind" // by grade
	InProfile  Account = "profile"
	Outside    Account = "outside"
	Loss       Account = "loss"
	Difference Account = "difference"
)

// Move is what an entry adds to an account: grams, of profiles also millimetres.
type Move struct {
	Account Account
	Code    string
	Grams   int64
	Millis  int64 // of profile: millimetres
}

// Entry is a record as the book holds it.
type Entry struct {
	ID         int64
	At         time.Time // when it was entered
	Who        string
	Head       Head
	History    bool  // remembered only: stock, lots and deliveries were stated otherwise
	Reverses   int64 // entry that this one takes back; 0 for none
	ReversedBy int64 // entry that took this one back; 0 for none
	Record     Record
	Moves      []Move
}

// Counts reports whether the entry stands: it is no reversal and was not reversed.
func (e Entry) Counts() bool { return e.Reverses == 0 && e.ReversedBy == 0 }

// Grams is a mass in whole grams.
func Grams(m quantity.Mass) int64 { return round(float64(m) * 1000) }

// Millis is a length in whole millimetres.
func Millis(l quantity.Length) int64 { return round(float64(l) * 1000) }

// MassOf is whole grams as a mass.
func MassOf(grams int64) quantity.Mass { return quantity.Mass(float64(grams) / 1000) }

// LengthOf is whole millimetres as a length.
func LengthOf(millis int64) quantity.Length { return quantity.Length(float64(millis) / 1000) }

func round(x float64) int64 {
	if x < 0 {
		return -int64(-x + 0.5)
	}
	return int64(x + 0.5)
}
