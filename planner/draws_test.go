package planner_test

import (
	"flag"
	"strconv"
	"testing"
)

// draws sets how often rapid.Check draws in this test, for plans are dear to draw; -rapid.checks on the command line has the last word.
func draws(t *testing.T, n int) {
	const name = "rapid.checks"
	given := false
	flag.Visit(func(f *flag.Flag) { given = given || f.Name == name })
	if given {
		return
	}
	was := flag.Lookup(name).Value.String()
	set := func(s string) {
		if err := flag.Lookup(name).Value.Set(s); err != nil { // flag.Set would count as given
			t.Fatal(err)
		}
	}
	set(strconv.Itoa(n))
	t.Cleanup(func() { set(was) })
}
