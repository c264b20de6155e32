package report

import (
	"io"

	"feedline/inventory"
	"feedline/planner"
	"feedline/planner/records"
)

// The schemas of what records are told by.
const (
	LotSchema     = "feedline.lot/1"
	ContentSchema = "feedline.content/1"
	ActualsSchema = "feedline.actuals/1"
)

type measure = inventory.Measure

var measures = inventory.Measures

type lotDoc struct {
	Schema    string             `json:"schema"`
	Lot       string             `json:"lot"`
	Receipt   *int64             `json:"receipt_entry"`
	Results   map[string]float64 `json:"results"`
	Tests     []int64            `json:"test_entries"`
	Processes []int64            `json:"process_entries"`
	Net       float64            `json:"net_kg"`
	Yard      float64            `json:"yard_kg"`
	Silo      float64            `json:"silo_kg"`
	Regrind   float64            `json:"regrind_kg"`
	Rack      float64            `json:"rack_kg"`
	Shipped   float64            `json:"shipped_kg"`
	Lost      float64            `json:"lost_kg"`
	Counted   float64            `json:"counted_off_kg"`
	Into      []intoDoc          `json:"into"`
	To        []toDoc            `json:"to"`
}

type intoDoc struct {
	Profile string  `json:"profile"`
	Line    string  `json:"line"`
	Runs    int     `json:"runs"`
	Mass    float64 `json:"mass_kg"`
	Length  float64 `json:"length_m"`
}

type toDoc struct {
	Order   string  `json:"order"`
	Profile string  `json:"profile"`
	Mass    float64 `json:"mass_kg"`
}

// LotJSON writes what became of a lot as a document of LotSchema.
func LotJSON(w io.Writer, g records.Genealogy) error {
	d := lotDoc{Schema: LotSchema, Lot: g.Lot, Results: map[string]float64{}, Tests: []int64{}, Processes: []int64{}, Into: []intoDoc{}, To: []toDoc{},
		Net: float64(g.Net), Yard: float64(g.Yard), Silo: float64(g.Silo), Regrind: float64(g.Regrind), Rack: float64(g.Rack), Shipped: float64(g.Shipped),
		Lost: float64(g.Lost), Counted: float64(g.Counted)}
	if g.Receipt != nil {
		d.Receipt = &g.Receipt.ID
		for m, v := range g.Receipt.Record.(records.Receipt).Results() {
			d.Results[string(m)] = v
		}
	}
	for _, e := range g.Tests {
		d.Tests = append(d.Tests, e.ID)
		for m, v := range e.Record.(records.Test).Results() {
			d.Results[string(m)] = v
		}
	}
	for _, e := range g.Processes {
		d.Processes = append(d.Processes, e.ID)
	}
	for _, m := range g.Into {
		d.Into = append(d.Into, intoDoc{m.Profile, m.Line, m.Runs, float64(m.Mass), float64(m.Length)})
	}
	for _, s := range g.To {
		d.To = append(d.To, toDoc{s.Order, s.Profile, float64(s.Mass)})
	}
	return writeDoc(w, d)
}

type contentDoc struct {
	Schema   string       `json:"schema"`
	Plant    string       `json:"plant"`
	Order    string       `json:"order"`
	From     *string      `json:"from"`
	To       *string      `json:"to"`
	Rule     string       `json:"rule"`
	Caution  string       `json:"caution"`
	Products []productDoc `json:"products"`
	Total    productDoc   `json:"total"`
	Grades   []balanceDoc `json:"grades"`
	Lots     []string     `json:"lots"`
}

type productDoc struct {
	Profile      string  `json:"profile"`
	Grade        string  `json:"grade"`
	Length       float64 `json:"length_m"`
	Mass         float64 `json:"mass_kg"`
	PostConsumer float64 `json:"post_consumer_share"`
	PreConsumer  float64 `json:"pre_consumer_share"`
	Recycled     float64 `json:"recycled_share"`
	Post         float64 `json:"post_consumer_kg"`
	Pre          float64 `json:"pre_consumer_kg"`
	Virgin       float64 `json:"virgin_kg"`
	Own          float64 `json:"own_regrind_kg"`
	Unknown      float64 `json:"unknown_kg"`
}

type balanceDoc struct {
	Grade      string  `json:"grade"`
	Opening    float64 `json:"opening_kg"`
	Made       float64 `json:"made_kg"`
	Counted    float64 `json:"counted_kg"`
	Used       float64 `json:"used_kg"`
	Closing    float64 `json:"closing_kg"`
	Conversion float64 `json:"conversion_share"`
	Post       float64 `json:"post_consumer_in_kg"`
	Pre        float64 `json:"pre_consumer_in_kg"`
	Virgin     float64 `json:"virgin_in_kg"`
	Own        float64 `json:"own_regrind_in_kg"`
	Unknown    float64 `json:"unknown_in_kg"`
}

func productOf(c records.Content) productDoc {
	kg := func(i int) float64 { return float64(c.Parts[i].Mass) }
	return productDoc{c.Product, c.Grade, float64(c.Length), float64(c.Mass()), float64(c.PostConsumer), float64(c.PreConsumer), float64(c.Recycled), kg(0), kg(1), kg(2), kg(3), kg(4)}
}

// ContentJSON writes a statement of recycled content as a document of ContentSchema.
func ContentJSON(w io.Writer, plant string, s records.Statement) error {
	d := contentDoc{Schema: ContentSchema, Plant: plant, Order: s.Order, Rule: records.ContentRule, Caution: records.ContentCaution, Products: []productDoc{}, Total: productOf(s.Total), Grades: []balanceDoc{}, Lots: []string{}}
	if s.Order == "" {
		d.From, d.To = day(s.Span.From), day(s.Span.To-1)
	}
	for _, c := range s.Products {
		d.Products = append(d.Products, productOf(c))
	}
	for _, b := range s.Grades {
		kg := func(i int) float64 { return float64(b.In[i].Mass) }
		d.Grades = append(d.Grades, balanceDoc{b.Grade, float64(b.Opening), float64(b.Made), float64(b.Counted), float64(b.Used), float64(b.Closing), float64(b.Conversion), kg(0), kg(1), kg(2), kg(3), kg(4)})
	}
	d.Lots = append(d.Lots, s.Lots...)
	return writeDoc(w, d)
}

type actualsDoc struct {
	Schema  string     `json:"schema"`
	Plant   string     `json:"plant"`
	Against string     `json:"against"`
	From    string     `json:"from"`
	To      string     `json:"to"`
	Gaps    []gapDoc   `json:"gaps"`
	Causes  []causeDoc `json:"causes"`
	Days    []dayDoc   `json:"days"`
}

type gapDoc struct {
	Line         string     `json:"line"`
	Profile      string     `json:"profile"`
	Planned      float64    `json:"planned_m"`
	Made         float64    `json:"made_m"`
	PlannedScrap float64    `json:"planned_scrap_kg"`
	Scrap        float64    `json:"scrap_kg"`
	PlannedFeed  float64    `json:"planned_feed_kg"`
	Feed         float64    `json:"feed_kg"`
	PlannedHours float64    `json:"planned_h"`
	Hours        float64    `json:"crewed_h"`
	Run          float64    `json:"run_h"`
	Down         float64    `json:"down_h"`
	SetUp        float64    `json:"setup_h"`
	PlannedSetUp float64    `json:"planned_setup_h"`
	Causes       []causeDoc `json:"causes"`
}

type causeDoc struct {
	Name   string  `json:"name"`
	Length float64 `json:"length_m"`
}

type dayDoc struct {
	Day          string  `json:"day"`
	Planned      float64 `json:"planned_m"`
	Made         float64 `json:"made_m"`
	PlannedScrap float64 `json:"planned_scrap_kg"`
	Scrap        float64 `json:"scrap_kg"`
	PlannedFeed  float64 `json:"planned_feed_kg"`
	Feed         float64 `json:"feed_kg"`
}

func causesOf(list []records.Cause) []causeDoc {
	out := []causeDoc{}
	for _, c := range list {
		out = append(out, causeDoc{c.Name, float64(c.Length)})
	}
	return out
}

// ActualsJSON writes plan against actual as a document of ActualsSchema.
func ActualsJSON(w io.Writer, in *planner.Input, a records.Actuals, against string) error {
	d := actualsDoc{Schema: ActualsSchema, Plant: in.Plant.Name, Against: against, From: a.Span.From.String(), To: (a.Span.To - 1).String(), Gaps: []gapDoc{}, Causes: causesOf(a.Causes), Days: []dayDoc{}}
	for _, g := range a.Gaps {
		d.Gaps = append(d.Gaps, gapDoc{g.Line, g.Profile, float64(g.Planned), float64(g.Made), float64(g.PlannedScrap), float64(g.Scrap), float64(g.PlannedFeed), float64(g.Feed),
			float64(g.PlannedHours), float64(g.Hours), float64(g.Run), float64(g.Down), float64(g.SetUp), float64(g.PlannedSetUp), causesOf(g.Causes)})
	}
	for _, x := range a.Days {
		d.Days = append(d.Days, dayDoc{x.Day.String(), float64(x.Planned), float64(x.Made), float64(x.PlannedScrap), float64(x.Scrap), float64(x.PlannedFeed), float64(x.Feed)})
	}
	return writeDoc(w, d)
}
