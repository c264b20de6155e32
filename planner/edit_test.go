package planner_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

// TestUnknownCode: whoever names a code that there is not is told the nearest, else those that begin like it, else what there is,
// however many there are.
func TestUnknownCode(t *testing.T) {
	in := workshop()
	for i := range 30 {
		p := in.Profiles[0]
		p.Code = fmt.Sprintf("AR%d", 1000+i)
		in.Profiles = append(in.Profiles, p)
	}
	first := in.Profiles[0].Code
	for given, want := range map[string]string{
		first + "x":   fmt.Sprintf("did you mean %q?", first),
		"ar10002":     `did you mean "AR1000"?`,
		"ar":          "there are: AR1000, AR1001, AR1002, AR1003, AR1004, AR1005, AR1006, AR1007, AR1008, AR1009, AR1010, AR1011 and 18 more",
		"none at all": "there are: " + first + ", ",
	} {
		_, err := planner.Promise(context.Background(), in, planner.Options{Now: monday.UTC()}, &planner.Plan{}, given, 1000)
		told(t, given, err, want)
		_, err = planner.PinLine(in, planner.PinRun, in.Lines[0].Code, given, calendar.Span{})
		told(t, given, err, want)
	}
	in.Profiles = []lines.Profile{}
	_, err := planner.PinLine(in, planner.PinRun, in.Lines[0].Code, "SK80", calendar.Span{})
	told(t, "SK80", err, "the book has none yet")
}

func told(t *testing.T, given string, err error, want string) {
	t.Helper()
	var e *planner.EditError
	if !errors.As(err, &e) {
		t.Fatalf("%q: error %v, want an EditError", given, err)
	}
	if e.Text != given || !strings.HasPrefix(e.Remedy, want) {
		t.Errorf("%q: remedy %q of %q, want %q", given, e.Remedy, e.Text, want)
	}
}
