package cli

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// TestOfferText: an offer says what more is to be ordered, by when and for how much, and what it puts off.
func TestOfferText(t *testing.T) {
	day := func(s string) calendar.Day {
		d, err := calendar.ParseDay(s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	loads := []planner.MoreLoads{{Purchase: planner.Purchase{Lane: "WH-SEA", Loads: 2, OrderBy: day("2027-01-05"), Arrives: day("2027-02-20"), Mass: 40000, Cost: 27600}, Material: "IMW", Landed: 0.742}}
	o := planner.Offer{Profile: "SK80", Length: 60000, Limit: planner.OfPellets, Words: "feed", Wider: []planner.WiderOffer{
		{Day: day("2027-02-21"), Limit: planner.OfLineHour, Words: "line hours", Loads: loads, Cost: 27600},
		{Day: day("2027-01-17"), Limit: planner.OfCrew, Words: "crew", Displaced: []planner.Displaced{{Profile: "AR50", Length: 3450.4, Until: day("2027-03-07"), Never: 120}}},
	}}
	want := `SK80, 60 000 m: not within the plan
bound by feed
with more loads: by 2027-02-21
  order 2 × WH-SEA, IMW, by 2027-01-05, there by 2027-02-20: 27 600 EUR, landed 0.74 EUR/kg of pellets
  bound by line hours
with forecasts put off: by 2027-01-17
  puts off 3 450 m of the forecast of AR50 until after 2027-03-07, 120 m of it past the plan's end
  bound by crew
`
	if d := cmp.Diff(want, offerText(o, "EUR", quantity.Metric)); d != "" {
		t.Errorf("an offer's text (-want +got):\n%s", d)
	}
	if now := notPast(o, day("2027-02-01")); now.Day != 0 || now.Wider[0].Day != day("2027-02-21") || now.Wider[1].Day != day("2027-02-01") || o.Wider[1].Day != day("2027-01-17") {
		t.Errorf("on 1 February it is promised by %v, %v, %v, want never, 21 February and today", now.Day, now.Wider[0].Day, now.Wider[1].Day)
	}
	us := offerText(o, "EUR", quantity.US)
	for _, want := range []string{"SK80, 196 850 ft: not", "landed 0.34 EUR/lb of pellets", "puts off 11 320 ft of", ", 394 ft of it past"} { // 0.3048 m a foot, 0.45359237 kg a pound
		if !strings.Contains(us, want) {
			t.Errorf("in US units %q is not in\n%s", want, us)
		}
	}
	doc := documentOf(o, "EUR", day("2027-02-01"))
	if *doc.Met || *doc.Sooner[0].Met || !*doc.Sooner[1].Met {
		t.Errorf("asked for 1 February, met: as planned %v, with loads %v, with forecasts put off %v, want only the last", *doc.Met, *doc.Sooner[0].Met, *doc.Sooner[1].Met)
	}
	said := soonerWords(o, planner.Plant{Currency: "EUR", Units: quantity.Metric})
	if want := " Sooner, by Sun 21 Feb, with 2 × WH-SEA ordered by Tue 5 Jan (27 600 EUR). Sooner, by Sun 17 Jan, with 3 450 m of the forecast of AR50 put off till after Sun 7 Mar."; said != want {
		t.Errorf("the console says %q, want %q", said, want)
	}
}
