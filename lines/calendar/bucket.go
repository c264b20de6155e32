package calendar

import (
	"fmt"
	"sort"
)

// Buckets divides the horizon that begins on start: first days, at least dailyDays of them and on to the next
// Monday, then ISO weeks, Monday to Monday, until the first Monday on or after start + 7·weeks. A start on a Monday
// with 14 and 26 gives 14 days and 24 weeks. Any start and any lengths will do; less than 0 counts as 0,
// and with both 0 and a start on a Monday there is no bucket.
func Buckets(start Day, dailyDays, weeks int) []Bucket {
	firstWeek := onOrAfterMonday(start + Day(max(0, dailyDays)))
	end := max(firstWeek, onOrAfterMonday(start+Day(7*max(0, weeks))))
	var list []Bucket
	for d := start; d < firstWeek; d++ {
		list = append(list, Bucket{len(list), Span{d, d + 1}})
	}
	for d := firstWeek; d < end; d += 7 {
		list = append(list, Bucket{len(list), Span{d, d + 7}})
	}
	return list
}

func onOrAfterMonday(d Day) Day { return (d + 6).Monday() }

// BucketOf is the index of the bucket that holds d, false if none does. The buckets are in order and without gaps.
func BucketOf(buckets []Bucket, d Day) (int, bool) {
	i := sort.Search(len(buckets), func(i int) bool { return d < buckets[i].Span.To })
	if i == len(buckets) || !buckets[i].Span.Has(d) {
		return 0, false
	}
	return i, true
}

// Label names a bucket in a heading: a day such as "Tue 24 Nov", an ISO week such as "W49", and where the ISO year
// begins the week with its year, "2027-W01". Weeks are numbered by their first day.
func (b Bucket) Label() string {
	if !b.Weekly() {
		return b.Span.From.UTC().Format("Mon 2 Jan")
	}
	return b.Span.From.WeekLabel()
}

// WeekLabel is the ISO week of d as in Label.
func (d Day) WeekLabel() string {
	year, week := d.ISOWeek()
	if week == 1 {
		return fmt.Sprintf("%04d-W01", year)
	}
	return fmt.Sprintf("W%02d", week)
}
