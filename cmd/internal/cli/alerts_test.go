package cli

import (
	"testing"
	"time"
	_ "time/tzdata"

	"feedline/cmd/internal/watch/alert"
)

// TestAlertTimesAreThePlants: an alert's times are by the plant's clock, with its zone, wherever the machine is; so is a day to which
// one is silenced.
func TestAlertTimesAreThePlants(t *testing.T) {
	plant, err := time.LoadLocation("Australia/Adelaide")
	if err != nil {
		t.Fatal(err)
	}
	until := time.Date(2027, 1, 8, 12, 0, 0, 0, time.UTC)
	x := &alert.Alert{Raised: time.Date(2027, 1, 4, 20, 15, 0, 0, time.UTC), State: alert.Snoozed, SnoozedUntil: &until, Who: "anna"}
	if got, want := alertState(x, plant), "since 2027-01-05 06:45 ACDT, snoozed until 2027-01-08 22:30 ACDT by anna"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	day, err := snoozeTime("2027-01-08", x.Raised.In(plant))
	if want := time.Date(2027, 1, 7, 13, 30, 0, 0, time.UTC); err != nil || !day.Equal(want) {
		t.Errorf("till %v, %v; want the plant's midnight, %v", day, err, want)
	}
}
