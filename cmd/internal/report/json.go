package report

import (
	"cmp"
	"encoding/json"
	"io"
	"math"
	"slices"
	"time"

	"feedline/inventory"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Schema names the JSON of a plan. Fields are only ever added under the same number.
const Schema = "feedline.plan/1"

// JSON writes the plan as one document of the schema described in SCHEMA.md. Numbers carry their unit in the field's name;
// money is in the plan's currency. What is not a finite number, and a day that there is none of, is null.
func JSON(w io.Writer, in *planner.Input, p *planner.Plan) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(documentOf(in, p))
}

// number is a finite number or nil.
func number[T ~float64](x T) *float64 {
	v := float64(x)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// day is a date YYYY-MM-DD, or nil for day 0.
func day(d calendar.Day) *string {
	if d == 0 {
		return nil
	}
	s := d.String()
	return &s
}

type document struct {
	Schema     string         `json:"schema"`
	Plant      string         `json:"plant"`
	Currency   string         `json:"currency"`
	Made       string         `json:"made"`
	Start      string         `json:"start"`
	End        string         `json:"end"`
	Outcome    outcome        `json:"outcome"`
	Costs      []cost         `json:"costs"`
	Margin     margin         `json:"margin"`
	Buckets    []bucket       `json:"buckets"`
	Lines      []lineUse      `json:"lines"`
	Runs       []run          `json:"runs"`
	Draws      []draw         `json:"draws"`
	Yard       []yardLevel    `json:"yard"`
	Pellets    []pelletLevel  `json:"pellets"`
	Deliveries []delivery     `json:"deliveries"`
	Purchases  []purchase     `json:"purchases"`
	NeedHave   []needHave     `json:"need_have"`
	Shortages  []shortage     `json:"shortages"`
	OrderBy    []orderByDate  `json:"order_by"`
	Rack       []rackLevel    `json:"rack"`
	Orders     []orderOutcome `json:"orders"`
	Worth      []worth        `json:"worth"`
	BoundBy    []boundBy      `json:"bound_by"`
	WhyLate    []whyLate      `json:"why_late"`
	LineValues []lineValue    `json:"line_values"`
	Missing    []missing      `json:"missing"`
	Unkept     []unkept       `json:"pins_not_kept"`
	Frozen     *string        `json:"frozen_before"`
	Changes    []change       `json:"changes"`
	Estimates  []estimateDoc  `json:"estimates"`
	CautionMsg string         `json:"caution"`
}

type outcome struct {
	Stop      string   `json:"stop"`
	Objective *float64 `json:"objective_money"`
	Bound     *float64 `json:"bound_money"`
	Gap       *float64 `json:"gap_share"`
	Solve     *float64 `json:"solve_s"`
	Rows      int      `json:"rows"`
	Columns   int      `json:"columns"`
	Nonzeros  int      `json:"nonzeros"`
	Integers  int      `json:"integers"`
}

type cost struct {
	Name   string   `json:"name"`
	Amount *float64 `json:"amount_money"`
}

type margin struct {
	Sales     *float64 `json:"sales_money"`
	Feed      *float64 `json:"feed_money"`
	Processes *float64 `json:"processes_money"`
	Net       *float64 `json:"net_money"`
}

type bucket struct {
	Index      int    `json:"bucket"`
	From       string `json:"from"`
	To         string `json:"to"`
	LinesToRun int    `json:"lines_to_run"`
}

type lineUse struct {
	Line      string   `json:"line"`
	Bucket    int      `json:"bucket"`
	On        bool     `json:"on"`
	Started   bool     `json:"started"`
	Available *float64 `json:"available_h"`
	Run       *float64 `json:"run_h"`
	Setup     *float64 `json:"setup_h"`
	Startup   *float64 `json:"startup_h"`
	Mounted   string   `json:"mounted"`
}

type run struct {
	Line       string   `json:"line"`
	Profile    string   `json:"profile"`
	Bucket     int      `json:"bucket"`
	Hours      *float64 `json:"run_h"`
	Length     *float64 `json:"good_m"`
	Changeover bool     `json:"changeover"`
	Setup      *float64 `json:"setup_h"`
	Takes      *float64 `json:"setup_takes_h"`
	Pellets    *float64 `json:"pellets_kg"`
	Scrap      *float64 `json:"scrap_kg"`
}

type draw struct {
	Material string   `json:"material"`
	Grade    string   `json:"grade"`
	Bucket   int      `json:"bucket"`
	In       *float64 `json:"in_kg"`
	Out      *float64 `json:"out_kg"`
}

type yardLevel struct {
	Material string   `json:"material"`
	Bucket   int      `json:"bucket"`
	Opening  *float64 `json:"opening_kg"`
	Arrived  *float64 `json:"arrived_kg"`
	Drawn    *float64 `json:"drawn_kg"`
	Closing  *float64 `json:"closing_kg"`
}

type pelletLevel struct {
	Grade          string   `json:"grade"`
	Bucket         int      `json:"bucket"`
	Opening        *float64 `json:"opening_kg"`
	Made           *float64 `json:"made_kg"`
	Used           *float64 `json:"used_kg"`
	Shortfall      *float64 `json:"shortfall_kg"`
	Closing        *float64 `json:"closing_kg"`
	RegrindOpening *float64 `json:"regrind_opening_kg"`
	RegrindIn      *float64 `json:"regrind_in_kg"`
	RegrindOut     *float64 `json:"regrind_out_kg"`
	RegrindClosing *float64 `json:"regrind_closing_kg"`
	Cover          *float64 `json:"cover_d"`
}

type delivery struct {
	Code     string   `json:"delivery"`
	Lane     string   `json:"lane"`
	Material string   `json:"material"`
	Status   string   `json:"status"`
	Mass     *float64 `json:"mass_kg"`
	Ordered  *string  `json:"ordered"`
	ETA      *string  `json:"eta"`
	Spread   *float64 `json:"spread_d"`
	Planned  *string  `json:"planned"`
	Late     bool     `json:"late"`
	Overdue  bool     `json:"overdue"`
}

type purchase struct {
	Lane    string   `json:"lane"`
	Loads   int      `json:"loads"`
	Bucket  int      `json:"bucket"`
	OrderOn *string  `json:"order_on"`
	Arrives *string  `json:"arrives"`
	Mass    *float64 `json:"mass_kg"`
	Cost    *float64 `json:"cost_money"`
}

type needHave struct {
	Grade      string   `json:"grade"`
	Bucket     int      `json:"bucket"`
	Need       *float64 `json:"need_kg"`
	Have       *float64 `json:"have_kg"`
	Short      *float64 `json:"short_kg"`
	Cumulative *float64 `json:"owed_kg"`
}

type shortage struct {
	Grade        string   `json:"grade"`
	First        *string  `json:"first"`
	WeeksAhead   *float64 `json:"ahead_weeks"`
	LastsTill    *string  `json:"lasts_till"`
	Mass         *float64 `json:"most_owed_kg"`
	MassIn4Weeks *float64 `json:"owed_in_4_weeks_kg"`
	OrdersAtRisk []string `json:"orders_at_risk"`
}

type orderByDate struct {
	Grade   string   `json:"grade"`
	Lane    string   `json:"lane"`
	Loads   int      `json:"loads"`
	By      *string  `json:"by"`
	Needed  *string  `json:"needed"`
	TooLate bool     `json:"too_late"`
	Mass    *float64 `json:"mass_kg"`
	Landed  *float64 `json:"landed_money_per_kg"`
	InPlan  bool     `json:"in_plan"`
	AtOnce  int      `json:"loads_at_once"`
	Weeks   int      `json:"weeks_between"`
	Most    *float64 `json:"most_share"`
}

type rackLevel struct {
	Profile string   `json:"profile"`
	Bucket  int      `json:"bucket"`
	Opening *float64 `json:"opening_m"`
	Made    *float64 `json:"made_m"`
	Shipped *float64 `json:"shipped_m"`
	Closing *float64 `json:"closing_m"`
	Demand  *float64 `json:"demand_m"`
	Late    *float64 `json:"late_m"`
}

type worth struct {
	Of      string   `json:"of"`
	Code    string   `json:"code"`
	Bucket  int      `json:"bucket"`
	Value   *float64 `json:"value_money"`
	Relaxed *float64 `json:"relaxed_money"`
	Dual    bool     `json:"dual"`
}

type lineValue struct {
	Line       string   `json:"line"`
	Do         string   `json:"do"`
	Can        bool     `json:"can"`
	Gain       *float64 `json:"gain_money"`
	Length     *float64 `json:"good_m"`
	Pellets    *float64 `json:"pellets_kg"`
	LateOrders int      `json:"late_orders"`
	FedGain    *float64 `json:"fed_gain_money"`
	FedLength  *float64 `json:"fed_good_m"`
	FedPellets *float64 `json:"fed_pellets_kg"`
	Cut        bool     `json:"cut_short"`
}

type missing struct {
	Answer string `json:"answer"`
	Words  string `json:"words"`
}

type boundBy struct {
	Bucket int    `json:"bucket"`
	By     string `json:"by"`
	Rents  []rent `json:"rents"`
}

type rent struct {
	Of     string   `json:"of"`
	Amount *float64 `json:"amount_money"`
}

type whyLate struct {
	Order string `json:"order"`
	Limit string `json:"limit"`
	Words string `json:"words"`
}

type unkept struct {
	Pin     string   `json:"pin"`
	Kind    string   `json:"kind"`
	Line    string   `json:"line"`
	Profile string   `json:"profile"`
	First   string   `json:"first_day"`
	Hours   *float64 `json:"not_kept_h"`
}

type change struct {
	Line   string `json:"line"`
	Bucket int    `json:"bucket"`
	Was    string `json:"was"`
	Is     string `json:"is"`
	Days   int    `json:"run_days"`
	Frozen bool   `json:"frozen"`
	Pinned bool   `json:"pinned"`
	Forced bool   `json:"forced"`
	Why    string `json:"why"`
}

type orderOutcome struct {
	Order    string   `json:"order"`
	Customer string   `json:"customer"`
	Priority int      `json:"priority"`
	Profile  string   `json:"profile"`
	Length   *float64 `json:"length_m"`
	Due      *string  `json:"due"`
	Promise  *string  `json:"promise"`
	DaysLate int      `json:"late_d"`
	Unmet    *float64 `json:"unmet_m"`
}

// list is the rows of a table as JSON has them; an empty one is [], not null.
func list[T, J any](rows []T, to func(T) J) []J {
	out := make([]J, 0, len(rows))
	for _, r := range rows {
		out = append(out, to(r))
	}
	return out
}

func documentOf(in *planner.Input, p *planner.Plan) document {
	d := document{
		Schema: Schema, Plant: p.Plant, Currency: p.Currency, Made: p.Made.Format(time.RFC3339), Start: p.Start.String(), CautionMsg: Caution,
		Outcome: outcome{p.Stop.String(), number(p.Objective), number(p.Bound), number(p.Gap), number(p.Solve.Seconds()), p.Size.Rows, p.Size.Cols, p.Size.Nonzeros, p.Size.Integers},
		Costs:   list(p.Costs, func(x planner.Cost) cost { return cost{x.Name, number(x.Amount)} }),
		Margin:  margin{number(p.Margin.Sales), number(p.Margin.Feed), number(p.Margin.Processes), number(p.Margin.Net)},
	}
	d.End = p.Start.String()
	for i, b := range p.Buckets {
		n := 0
		if i < len(p.LinesToRun) {
			n = p.LinesToRun[i]
		}
		d.Buckets = append(d.Buckets, bucket{i, b.Span.From.String(), b.Span.To.String(), n})
		d.End = b.Span.To.String()
	}
	addFloor(&d, p)
	addFeed(&d, in, p)
	addNeed(&d, p)
	addDemand(&d, in, p)
	d.Worth = list(p.Worth, func(x planner.Worth) worth {
		return worth{string(x.Of), x.Code, x.Bucket, number(x.Value), number(x.Relaxed), x.Dual}
	})
	d.BoundBy = list(p.BoundBy, func(x planner.BoundBy) boundBy {
		return boundBy{x.Bucket, string(x.By), list(x.Rents, func(r planner.Rent) rent { return rent{string(r.Of), number(r.Amount)} })}
	})
	d.WhyLate = list(p.WhyLate, func(x planner.WhyLate) whyLate { return whyLate{x.Order, string(x.Limit), x.Words} })
	d.LineValues = list(p.LineValues, func(x planner.LineValue) lineValue {
		return lineValue{x.Line, string(x.Do), x.Can, number(x.Gain), number(x.Length), number(x.Pellets), x.LateOrders, number(x.FedGain), number(x.FedLength), number(x.FedPellets), x.Cut}
	})
	d.Missing = list(p.Missing, func(x planner.Missing) missing { return missing{string(x.Answer), x.Words} })
	d.Unkept = list(p.Unkept, func(x planner.Unkept) unkept {
		return unkept{x.Pin.Code, string(x.Pin.Kind), x.Pin.Line, x.Pin.Profile, x.First.String(), number(x.Hours)}
	})
	d.Frozen = day(p.Frozen)
	d.Changes = list(p.Changes, func(x planner.Change) change {
		return change{x.Line, x.Bucket, x.Was, x.Is, x.Days, x.Frozen, x.Pinned, x.Forced, x.Why}
	})
	d.Estimates = estimatesOf(p.Estimates)
	return d
}

func addFloor(d *document, p *planner.Plan) {
	d.Lines = list(p.Lines, func(x planner.LineUse) lineUse {
		return lineUse{x.Line, x.Bucket, x.On, x.Started, number(x.Available), number(x.Run), number(x.Setup), number(x.Startup), x.Mounted}
	})
	d.Runs = list(p.Runs, func(x planner.Run) run {
		return run{x.Line, x.Profile, x.Bucket, number(x.Hours), number(x.Length), x.Changeover, number(x.Setup), number(x.Takes), number(x.Pellets), number(x.Scrap)}
	})
}

func addFeed(d *document, in *planner.Input, p *planner.Plan) {
	d.Deliveries = committed(in, p)
	d.Draws = list(p.Draws, func(x planner.Draw) draw { return draw{x.Material, x.Grade, x.Bucket, number(x.In), number(x.Out)} })
	d.Yard = list(p.Yard, func(x planner.YardLevel) yardLevel {
		return yardLevel{x.Material, x.Bucket, number(x.Opening), number(x.Arrived), number(x.Drawn), number(x.Closing)}
	})
	d.Pellets = list(p.Pellets, func(x planner.PelletLevel) pelletLevel {
		return pelletLevel{x.Grade, x.Bucket, number(x.Opening), number(x.Made), number(x.Used), number(x.Shortfall), number(x.Closing),
			number(x.RegrindOpening), number(x.RegrindIn), number(x.RegrindOut), number(x.RegrindClosing), number(x.CoverDays)}
	})
	d.Purchases = list(p.Purchases, func(x planner.Purchase) purchase {
		return purchase{x.Lane, x.Loads, x.Bucket, day(x.OrderBy), day(x.Arrives), number(x.Mass), number(x.Cost)}
	})
}

// committed is the deliveries on their way, by the day that the plan counts on them.
func committed(in *planner.Input, p *planner.Plan) []delivery {
	coming := slices.DeleteFunc(slices.Clone(in.Deliveries), func(x inventory.Delivery) bool { return !x.Coming() })
	planned := func(x inventory.Delivery) calendar.Day {
		return max(p.Start, inventory.PlannedArrival(x, in.Plant.ArrivesBy()))
	}
	slices.SortStableFunc(coming, func(a, b inventory.Delivery) int { return cmp.Compare(planned(a), planned(b)) })
	return list(coming, func(x inventory.Delivery) delivery {
		return delivery{x.Code, x.Lane, x.Material, string(x.Status), number(x.Mass), day(x.Ordered), day(x.ETA), number(x.Spread), day(planned(x)), x.Late, x.Overdue(p.Start)}
	})
}

func addNeed(d *document, p *planner.Plan) {
	d.NeedHave = list(p.NeedHave, func(x planner.NeedHave) needHave {
		return needHave{x.Grade, x.Bucket, number(x.Need), number(x.Have), number(x.Short), number(x.Cumulative)}
	})
	d.Shortages = list(p.Shortages, func(x planner.Shortage) shortage {
		risk := append([]string{}, x.OrdersAtRisk...)
		return shortage{x.Grade, day(x.First), number(x.WeeksAhead), day(x.LastsTill), number(x.Mass), number(x.MassIn4Weeks), risk}
	})
	d.OrderBy = list(p.OrderBy, func(x planner.OrderBy) orderByDate {
		return orderByDate{x.Grade, x.Lane, x.Loads, day(x.By), day(x.Needed), x.TooLate, number(x.Mass), number(x.Landed), x.InPlan, x.AtOnce, x.Weeks, number(x.Most)}
	})
}

func addDemand(d *document, in *planner.Input, p *planner.Plan) {
	d.Rack = list(p.Rack, func(x planner.RackLevel) rackLevel {
		return rackLevel{x.Profile, x.Bucket, number(x.Opening), number(x.Made), number(x.Shipped), number(x.Closing), number(x.Demand), number(x.Late)}
	})
	book := map[string]planner.Order{}
	for _, o := range in.Orders {
		book[o.Code] = o
	}
	d.Orders = list(p.Orders, func(x planner.OrderResult) orderOutcome {
		o := book[x.Order]
		return orderOutcome{x.Order, o.Customer, o.Priority, x.Profile, number(x.Length), day(x.Due), day(x.Promise), x.DaysLate, number(x.Unmet)}
	})
}
