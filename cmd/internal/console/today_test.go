package console

import (
	"slices"
	"strings"
	"testing"

	"feedline/lines/calendar"
)

// TestTodayLeadsToWhatItNames: Enter on each row of Today selects what the row names, on the screen where it is seen, even if a
// filter hid it there.
func TestTodayLeadsToWhatItNames(t *testing.T) {
	book := newShelf(plant())
	day := calendar.DayOf(morning) + 3
	p := book.plans[0]
	bucket, ok := calendar.BucketOf(p.Buckets, day)
	if !ok {
		t.Fatalf("no bucket of the plan holds %s", day)
	}
	for i := range p.Lines {
		p.Lines[i].Started = p.Lines[i].Line == "L3" && p.Lines[i].Bucket == bucket
	}
	s := perform(t, setting{book: book})
	tableOf := map[string]string{"buy": "lanes", "cover": "lanes", "delivery": "deliveries", "lot": "lots", "start": "floor"}
	kinds := map[string]bool{}
	for _, table := range []string{"cover", "due"} {
		var keys, names []string
		s.run(func() {
			for _, r := range s.c.views[0].grids[table].shown.Rows {
				keys, names = append(keys, r.Key), append(names, r.Cells[0].Text+" "+r.Cells[1].Text)
			}
		})
		for i, key := range keys {
			s.run(func() {
				for _, v := range s.c.views {
					for _, g := range v.grids {
						g.filter = map[bool]string{true: "no such row"}[v.Name != "today"]
						g.arrange()
					}
				}
				s.c.turnTo(0)
				v := s.c.views[0]
				v.focus = table
				v.grids[table].pick(i)
			})
			s.press("Enter")
			s.run(func() {
				v := s.c.view()
				r, ok := v.grid().row()
				if !ok {
					t.Errorf("%s: nothing is selected on %s", names[i], v.Name)
					return
				}
				kind, _, _ := strings.Cut(key, " ")
				want, at, code := "feed", tableOf[kind], r.Cells[0].Text
				switch {
				case kind == "start":
					want = "lines"
				case table == "cover" && key == "BK": // lasts all through
					kind, at = "grade", "pellets"
				case table == "cover": // the lane to order on, at its row for the grade
					kind, at, code = "grade", "lanes", r.Cells[2].Text
				}
				kinds[kind] = true
				if v.Name != want || v.focus != at || !slices.Contains(strings.Fields(names[i]), code) {
					t.Errorf("%s leads to %s on %s of %s, want %s of %s", names[i], code, v.focus, v.Name, at, want)
				}
				if kind == "start" && v.grid().column != day.String() {
					t.Errorf("%s leads to %s, want %s", names[i], v.grid().column, day)
				}
			})
		}
	}
	for _, kind := range []string{"grade", "buy", "cover", "delivery", "lot", "start"} {
		if !kinds[kind] {
			t.Errorf("no row of the kind %s was tried", kind)
		}
	}
}
