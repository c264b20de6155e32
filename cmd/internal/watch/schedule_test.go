package watch

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

func schedule(t testing.TB, text string) Schedule {
	t.Helper()
	s, err := ParseSchedule(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The days on which clocks change are from the IANA time zone database, as GNU date shows it with TZ set: Berlin went to
// summer time on 2027-03-28 at 02:00 and goes back on 2027-10-31 at 03:00; Chicago on 2027-03-14 and 2027-11-07 at 02:00; Lord Howe
// changes by half an hour, on 2027-04-04 at 02:00; Apia had no 2011-12-30.
func TestNextRunsAcrossClockChanges(t *testing.T) {
	for _, c := range []struct {
		what, schedule, zone, after string
		want                        []string
	}{
		{"gap: at the first moment after it", "30 2 * * *", "Europe/Berlin", "2027-03-27T12:00:00Z",
			[]string{"Sun 2027-03-28 03:00 CEST", "Mon 2027-03-29 02:30 CEST"}},
		{"overlap: once, the first time", "30 2 * * *", "Europe/Berlin", "2027-10-30T12:00:00Z",
			[]string{"Sun 2027-10-31 02:30 CEST", "Mon 2027-11-01 02:30 CET"}},
		{"overlap, asked in the second pass", "30 2 * * *", "Europe/Berlin", "2027-10-31T01:10:00Z",
			[]string{"Mon 2027-11-01 02:30 CET"}},
		{"hourly follows elapsed time in the gap", "0 * * * *", "Europe/Berlin", "2027-03-27T23:30:00Z",
			[]string{"Sun 2027-03-28 01:00 CET", "Sun 2027-03-28 03:00 CEST", "Sun 2027-03-28 04:00 CEST"}},
		{"hourly follows elapsed time in the overlap", "0 * * * *", "Europe/Berlin", "2027-10-30T23:30:00Z",
			[]string{"Sun 2027-10-31 02:00 CEST", "Sun 2027-10-31 02:00 CET", "Sun 2027-10-31 03:00 CET"}},
		{"several times within the gap are one", "0,15,30 2 * * *", "America/Chicago", "2027-03-13T12:00:00Z",
			[]string{"Sun 2027-03-14 03:00 CDT", "Mon 2027-03-15 02:00 CDT"}},
		{"half an hour twice", "45 1 * * *", "Australia/Lord_Howe", "2027-04-03T12:00:00Z",
			[]string{"Sun 2027-04-04 01:45 +11", "Mon 2027-04-05 01:45 +1030"}},
		{"a day that never was", "0 12 30 12 *", "Pacific/Apia", "2011-12-28T12:00:00Z",
			[]string{"Sat 2011-12-31 00:00 +14", "Sun 2012-12-30 12:00 +14"}},
		{"leap day", "0 6 29 2 *", "Europe/Berlin", "2027-01-01T00:00:00Z",
			[]string{"Tue 2028-02-29 06:00 CET", "Sun 2032-02-29 06:00 CET"}},
		{"last days of a year of 53 weeks", "0 5 * * 1", "Europe/Berlin", "2026-12-20T00:00:00Z",
			[]string{"Mon 2026-12-21 05:00 CET", "Mon 2026-12-28 05:00 CET", "Mon 2027-01-04 05:00 CET"}},
	} {
		after, err := time.Parse(time.RFC3339, c.after)
		if err != nil {
			t.Fatal(err)
		}
		got := schedule(t, c.schedule).NextRuns(after, zone(t, c.zone), len(c.want))
		if strings.Join(got, "; ") != strings.Join(c.want, "; ") {
			t.Errorf("%s: %q in %s after %s:\n got %q\nwant %q", c.what, c.schedule, c.zone, c.after, got, c.want)
		}
	}
}

// A time of day comes exactly once on every day, whatever the clocks do: counted over two years in zones of all kinds.
func TestEveryDayOnce(t *testing.T) {
	zones := rapid.SampledFrom([]string{"Europe/Berlin", "America/Chicago", "Australia/Lord_Howe", "America/St_Johns", "Africa/Casablanca", "Asia/Kathmandu", "UTC"})
	rapid.Check(t, func(t *rapid.T) {
		z, err := time.LoadLocation(zones.Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		hour, minute := rapid.IntRange(0, 23).Draw(t, "hour"), rapid.IntRange(0, 59).Draw(t, "minute")
		s, err := ParseSchedule(time.Date(0, 1, 1, hour, minute, 0, 0, time.UTC).Format("4 15 * * *"))
		if err != nil {
			t.Fatal(err)
		}
		start := time.Date(2026, 1, 1, 0, 0, 0, 0, z).Add(-time.Second)
		at := start
		for day := range 730 {
			at = s.Next(at, z)
			if want := time.Date(2026, 1, 1+day, 12, 0, 0, 0, z); at.In(z).Format(time.DateOnly) != want.Format(time.DateOnly) {
				t.Fatalf("%s in %s: run %d is at %s, want one on %s", s, z, day, at, want.Format(time.DateOnly))
			}
		}
	})
}

func TestWrongSchedulesAreRefused(t *testing.T) {
	for _, text := range []string{"* * *", "61 * * * *", "0 0 30 2 *", "TZ=UTC 0 5 * * *", "CRON_TZ=UTC 0 5 * * *", "TZ=", "@every", "@every -5m", "@every 0s", "@sometimes",
		"0 5 * * 8", "*/0 * * * *", "5-1 * * * *", "0 0 0 0 0", strings.Repeat("1,", 200) + "1 * * * *", "@every 9999999h"} {
		s, err := ParseSchedule(text)
		if err == nil {
			t.Errorf("%q was taken as %v", text, s)
			continue
		}
		if e, ok := err.(*ScheduleError); !ok || e.Hint() == "" || !strings.Contains(err.Error(), "schedule ") {
			t.Errorf("%q: error %v", text, err)
		}
	}
	for _, text := range []string{"", "off", " 0 5 * * 1-6 ", "@daily", "@every 20m", "*/15 6-22 * * mon-fri", "0 0 29 2 *"} {
		if _, err := ParseSchedule(text); err != nil {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestMissedRunsAreCounted(t *testing.T) {
	z := zone(t, "Europe/Berlin")
	s := schedule(t, "0 5 * * *")
	from := time.Date(2027, 1, 4, 5, 0, 0, 0, z)
	last, n := s.Missed(from, from.AddDate(0, 0, 7).Add(time.Hour), z)
	if n != 7 || !last.Equal(from.AddDate(0, 0, 7)) {
		t.Errorf("%d missed, the last at %s; want 7, the last on the 11th", n, last)
	}
	if _, n := s.Missed(from, from.Add(23*time.Hour), z); n != 0 {
		t.Errorf("%d missed within a day, want none", n)
	}
	if _, n := schedule(t, "@every 1s").Missed(from, from.AddDate(10, 0, 0), z); n != most {
		t.Errorf("%d missed in ten years of seconds, want the count to end at %d", n, most)
	}
}

// FuzzSchedule: no expression makes the parser panic or hang, and what it takes comes again after any time.
func FuzzSchedule(f *testing.F) {
	for _, s := range []string{"0 5 * * 1-6", "@daily", "@every 20m", "*/15 6-22 * * mon-fri", "TZ=", "TZ=UTC", "0 0 29 2 *", "1-59/3 * ? jan,feb L", "@every 1h30m", "* * * * *"} {
		f.Add(s)
	}
	z := zone(f, "Europe/Berlin")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ParseSchedule(text)
		if err != nil || s.Off() {
			return
		}
		at := time.Date(2027, 3, 27, 0, 0, 0, 0, z)
		for range 5 {
			next := s.Next(at, z)
			if next.IsZero() {
				return
			}
			if !next.After(at) {
				t.Fatalf("%q: %s does not come after %s", text, next, at)
			}
			at = next
		}
	})
}
