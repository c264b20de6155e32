package calendar

import (
	"testing"

	"pgregory.net/rapid"
)

func TestBucketsFromMonday(t *testing.T) {
	start := Date(2026, 11, 23) // a Monday
	list := Buckets(start, 14, 26)
	days, weeks := 0, 0
	for _, b := range list {
		if b.Weekly() {
			weeks++
		} else {
			days++
		}
	}
	if days != 14 || weeks != 24 {
		t.Errorf("%d days and %d weeks, want 14 and 24", days, weeks)
	}
	if end := list[len(list)-1].Span.To; end != start+26*7 {
		t.Errorf("horizon ends %v, want %v", end, start+26*7)
	}
}

func TestBucketsProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		start := Day(rapid.IntRange(0, 60000).Draw(t, "start"))
		daily := rapid.IntRange(-3, 60).Draw(t, "daily")
		weeks := rapid.IntRange(-3, 60).Draw(t, "weeks")
		list := Buckets(start, daily, weeks)
		if len(list) == 0 {
			if daily > 0 || weeks > 0 || start != start.Monday() {
				t.Fatalf("no buckets from %v with %d days and %d weeks", start, daily, weeks)
			}
			return
		}
		next, days := start, 0
		for i, b := range list {
			if b.Index != i || b.Span.From != next || b.Span.Days() < 1 {
				t.Fatalf("bucket %d is %+v, want it to begin on %v", i, b, next)
			}
			if b.Weekly() && (b.Span.Days() != 7 || b.Span.From != b.Span.From.Monday()) {
				t.Fatalf("bucket %d is %v to %v, want a week from a Monday", i, b.Span.From, b.Span.To)
			}
			if !b.Weekly() {
				if days++; days != i+1 {
					t.Fatalf("bucket %d is a day behind a week", i)
				}
			}
			if b.Label() == "" {
				t.Fatalf("bucket %d has no label", i)
			}
			next = b.Span.To
		}
		if days < daily || days > max(0, daily)+6 {
			t.Fatalf("%d daily buckets for %d asked", days, daily)
		}
		if next < start+Day(7*weeks) || next != next.Monday() || next > max(start+Day(7*max(weeks, 0))+6, start+Day(days)) {
			t.Fatalf("horizon ends %v for %d weeks from %v", next, weeks, start)
		}
		d := start + Day(rapid.IntRange(-10, 500).Draw(t, "day"))
		i, ok := BucketOf(list, d)
		if in := d >= start && d < next; ok != in || ok && !list[i].Span.Has(d) {
			t.Fatalf("BucketOf(%v) = %d, %v", d, i, ok)
		}
	})
}

// The years with 53 ISO weeks are those that begin on a Thursday, and leap years that begin on a Wednesday (ISO 8601):
// 2015, 2020, 2026, 2032 among them.
func TestWeekLabels(t *testing.T) {
	for _, c := range []struct {
		monday Day
		want   string
	}{
		{Date(2020, 12, 28), "W53"},
		{Date(2021, 1, 4), "2021-W01"},
		{Date(2026, 11, 30), "W49"},
		{Date(2026, 12, 28), "W53"},
		{Date(2027, 1, 4), "2027-W01"},
		{Date(2024, 12, 30), "2025-W01"}, // begins in the old year
		{Date(2025, 12, 22), "W52"},
		{Date(2025, 12, 29), "2026-W01"},
	} {
		if got := (Bucket{Span: Span{c.monday, c.monday + 7}}).Label(); got != c.want {
			t.Errorf("week of %v is labelled %q, want %q", c.monday, got, c.want)
		}
	}
	if got := (Bucket{Span: Span{Date(2026, 11, 24), Date(2026, 11, 25)}}).Label(); got != "Tue 24 Nov" {
		t.Errorf("label %q, want Tue 24 Nov", got)
	}
	if got := (Bucket{Span: Span{Date(2028, 2, 29), Date(2028, 3, 1)}}).Label(); got != "Tue 29 Feb" {
		t.Errorf("label %q, want Tue 29 Feb", got)
	}
}
