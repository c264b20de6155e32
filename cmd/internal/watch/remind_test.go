package watch

import (
	"context"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/demo"
	"feedline/cmd/internal/watch/notify"
	"feedline/inventory/quantity"
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

// The loads to order are told in the plant's units: 21,000 kg are 46,297 lb.
func TestPlannedLoadsInThePlantsUnits(t *testing.T) {
	now := time.Date(2027, 1, 4, 6, 0, 0, 0, time.UTC)
	d := &Desk{Config: Defaults(), Clock: &handClock{now: now}}
	p := &planner.Plan{Purchases: []planner.Purchase{{Lane: "GY-ROAD", Loads: 1, OrderBy: calendar.DayOf(now), Arrives: calendar.DayOf(now) + 12, Mass: 21000}}}
	rows, _ := d.plannedLoads(p, quantity.US)
	if want := "2027-01-04  1 load (46 297 lb) on GY-ROAD, to arrive on 2027-01-16"; len(rows) != 1 || strings.NewReplacer("\u202f", " ", "\u00a0", " ").Replace(rows[0]) != want {
		t.Errorf("%q, want %q", rows, want)
	}
}

// Without a plan yet the jobs that work on the last one have nothing to do, and none fails.
func TestJobsWithoutAPlan(t *testing.T) {
	b, err := book.Open(newBook(t))
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	if _, err := b.Save(bg, demo.Input(calendar.Date(2027, 1, 4)), book.SaveOptions{}); err != nil {
		t.Fatal(err)
	}
	d := &Desk{Book: b, Config: Defaults(), Clock: &handClock{now: time.Date(2027, 1, 4, 6, 0, 0, 0, time.UTC)}}
	for name, job := range map[string]func(context.Context, Run) (string, error){"remind": d.remind, "digest": d.digest, "forecast": d.forecast} {
		if word, err := job(bg, Run{}); word != "no plan yet" || err != nil {
			t.Errorf("%s without a plan: %q, %v", name, word, err)
		}
	}
}
