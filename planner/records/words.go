package records

import "fmt"

// Days is a number of days with its unit.
func Days(d float64) string { return fmt.Sprintf("%.1f days", d) }

// Plural is a number with its noun: 1 load, 2 loads.
func Plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
