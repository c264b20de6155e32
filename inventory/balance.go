package inventory

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// Grams is a mass to the gram, so that sums are exact.
type Grams int64

// mostGrams is the largest booking: ten million tonnes, far below where a float64 of kilograms or a sum of Grams would lose a gram.
const mostGrams = 10_000_000_000_000

// GramsOf rounds m to the gram, half away from zero; an error if it is not a number or beyond ten million tonnes.
func GramsOf(m quantity.Mass) (Grams, error) {
	g := math.Round(float64(m) * 1000)
	if !(math.Abs(g) <= mostGrams) {
		return 0, fmt.Errorf("mass %v kg can't be booked; allowed: up to 10 million tonnes", float64(m))
	}
	return Grams(g), nil
}

// Mass is g in kilograms.
func (g Grams) Mass() quantity.Mass { return quantity.Mass(float64(g) / 1000) }

// Movement is a booking: mass into (+) or out of (−) the stock of an item, such as a lot, a material or a grade.
type Movement struct {
	Day  calendar.Day
	Item string
	Mass quantity.Mass // booked to the gram
	Note string
}

// Balance is the stock of items, each Σ in − Σ out and never negative, to the gram. The zero value is empty and ready to use.
type Balance struct {
	levels map[string]Grams
}

// OverdrawnError is a movement out of a stock that does not hold so much.
type OverdrawnError struct {
	Movement Movement
	Have     Grams
}

// Error names the item, the day, what was asked for and what is there.
func (e *OverdrawnError) Error() string {
	return fmt.Sprintf("%s on %v: %.3f kg to be taken, %.3f kg there; count the stock and correct the booking or the level",
		e.Movement.Item, e.Movement.Day, -float64(e.Movement.Mass), float64(e.Have.Mass()))
}

// Apply books a movement. On an error, *OverdrawnError or one from GramsOf, nothing is booked.
func (b *Balance) Apply(m Movement) error {
	g, err := GramsOf(m.Mass)
	if err != nil {
		return fmt.Errorf("%s on %v: %w", m.Item, m.Day, err)
	}
	have := b.levels[m.Item]
	switch {
	case have+g < 0:
		return &OverdrawnError{Movement: m, Have: have}
	case have+g > mostGrams:
		return fmt.Errorf("%s on %v: stock beyond 10 million tonnes", m.Item, m.Day)
	}
	if b.levels == nil {
		b.levels = map[string]Grams{}
	}
	b.levels[m.Item] = have + g
	return nil
}

// Level is the stock of an item, 0 for one never booked.
func (b *Balance) Level(item string) Grams { return b.levels[item] }

// Items lists the items ever booked, sorted.
func (b *Balance) Items() []string {
	items := make([]string, 0, len(b.levels))
	for i := range b.levels {
		items = append(items, i)
	}
	slices.Sort(items)
	return items
}

// Replay books movements in order of their days, those of a day in the order given, and stops at the first error.
// The balance up to there is returned with it.
func Replay(movements []Movement) (*Balance, error) {
	b := &Balance{}
	sorted := slices.SortedStableFunc(slices.Values(movements), func(x, y Movement) int { return cmp.Compare(x.Day, y.Day) })
	for _, m := range sorted {
		if err := b.Apply(m); err != nil {
			return b, err
		}
	}
	return b, nil
}
