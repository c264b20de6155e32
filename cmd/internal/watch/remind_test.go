package watch

import (
	"encoding/json"
	"strings"
	"testing"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/watch/notify"
	"feedline/lines/calendar"
	"feedline/planner"
)

// A reminder names the loads that the plan itself counts on and that are to be ordered within the days of the configuration, those whose day has
// passed too; without any, and without a short grade, nobody is bothered.
func TestReminderNamesPlannedLoads(t *testing.T) {
	d, _ := aDesk(t)
	d.Config.To = []Recipient{{Name: "Anna", Email: "anna@plant.example"}}
	monday := calendar.Date(2027, 1, 4)
	remind := func(list ...planner.Purchase) (word string, sent []notify.Message) {
		t.Helper()
		p := &planner.Plan{Start: monday, Buckets: []calendar.Bucket{{Span: calendar.Span{From: monday, To: monday + 1}}}, LinesToRun: []int{1}, Purchases: list}
		if _, err := d.Book.SavePlan(bg, p, book.PlanMeta{}); err != nil {
			t.Fatal(err)
		}
		before, err := d.Book.Outbox(bg)
		if err != nil {
			t.Fatal(err)
		}
		if word, err = d.remind(bg, Run{}); err != nil {
			t.Fatal(err)
		}
		after, err := d.Book.Outbox(bg)
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range after[len(before):] {
			var m notify.Message
			if err := json.Unmarshal(o.Body, &m); err != nil {
				t.Fatal(err)
			}
			sent = append(sent, m)
		}
		return word, sent
	}
	if word, sent := remind(planner.Purchase{Lane: "WH-SEA", Loads: 2, OrderBy: monday + 8, Arrives: monday + 60, Mass: 39600}); len(sent) > 0 || !strings.Contains(word, "nothing is to be ordered soon") {
		t.Errorf("in eight days: %q, %d messages", word, len(sent))
	}
	word, sent := remind(planner.Purchase{Lane: "WH-SEA", Loads: 2, OrderBy: monday + 7, Arrives: monday + 59, Mass: 39600},
		planner.Purchase{Lane: "GY-ROAD", Loads: 1, OrderBy: monday - 1, Arrives: monday + 12, Mass: 21000},
		planner.Purchase{Lane: "WH-ROAD", Loads: 1, OrderBy: monday + 30, Arrives: monday + 42, Mass: 22000})
	if !strings.Contains(word, "orders to place soon in the plan: 2, from 2027-01-03 on") || len(sent) != 1 {
		t.Fatalf("%q, %d messages, want one", word, len(sent))
	}
	text := strings.ReplaceAll(sent[0].Text, "\u202f", " ")
	want := "2027-01-03  1 load (21 000 kg) on GY-ROAD, to arrive on 2027-01-16\n2027-01-11  2 loads (39 600 kg) on WH-SEA, to arrive on 2027-03-04\n"
	if !strings.Contains(text, want) || strings.Contains(text, "WH-ROAD") || !strings.Contains(sent[0].Subject, "from 2027-01-03 on") {
		t.Errorf("subject %q, text:\n%s\nwant in it:\n%s", sent[0].Subject, text, want)
	}
}
