package report

import (
	"encoding/json"
	"io"
	"time"

	"feedline/planner/forecast"
)

// ForecastSchema names the JSON of a forecast. Fields are only ever added under the same number.
const ForecastSchema = "feedline.forecast/1"

// ForecastJSON writes the forecast as one document of the schema described in SCHEMA.md.
func ForecastJSON(w io.Writer, r *forecast.Result) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(forecastDocumentOf(r))
}

type forecastDocument struct {
	Schema    string             `json:"schema"`
	Plant     string             `json:"plant"`
	Currency  string             `json:"currency"`
	PlanMade  string             `json:"plan_made"`
	Start     string             `json:"start"`
	Seed      uint64             `json:"seed"`
	Asked     int                `json:"asked"`
	Runs      int                `json:"runs"`
	Failed    int                `json:"failed"`
	Stop      string             `json:"stop"`
	Metres    bandJSON           `json:"total_m"`
	Margin    bandJSON           `json:"total_margin_money"`
	Weeks     []weekJSON         `json:"weeks"`
	Grades    []gradeJSON        `json:"grades"`
	Drivers   []driverJSON       `json:"drivers"`
	Orders    []orderRiskJSON    `json:"orders"`
	Loads     []loadRiskJSON     `json:"loads"`
	LoadWorth []loadWorthJSON    `json:"load_worth"`
	OrderBy   []orderByRiskJSON  `json:"order_by"`
	Service   float64            `json:"service_level"`
	Spread    map[string]float64 `json:"spread"`
	Estimated int                `json:"spread_estimated"`
	OrderNow  *orderNowJSON      `json:"order_now"`
}

type orderNowJSON struct {
	Scenarios int             `json:"scenarios"`
	Weeks     int             `json:"weeks"`
	Orders    []nearOrderJSON `json:"orders"`
	Cost      *float64        `json:"cost_money"`
	Bound     *float64        `json:"bound_money"`
	PlanCost  *float64        `json:"plan_cost_money"`
	MeanCost  *float64        `json:"mean_cost_money"`
	Foresight *float64        `json:"foresight_cost_money"`
	VSS       *float64        `json:"stochastic_value_money"`
	EVPI      *float64        `json:"perfect_information_money"`
	Stop      string          `json:"stop"`
}

type nearOrderJSON struct {
	Lane  string `json:"lane"`
	Day   string `json:"day"`
	Loads int    `json:"loads"`
	Plan  int    `json:"plan_loads"`
	Mean  int    `json:"mean_loads"`
}

type bandJSON struct {
	Plan   float64 `json:"plan"`
	P10    float64 `json:"p10"`
	P50    float64 `json:"p50"`
	P90    float64 `json:"p90"`
	Mean   float64 `json:"mean"`
	MeanSE float64 `json:"mean_se"`
	P10SE  float64 `json:"p10_se"`
	P90SE  float64 `json:"p90_se"`
}

type weekJSON struct {
	From   string   `json:"from"`
	To     string   `json:"to"`
	Metres bandJSON `json:"made_m"`
	Margin bandJSON `json:"margin_money"`
	Cover  bandJSON `json:"cover_d"`
	Feed   bandJSON `json:"feed_t"`
	Lines  bandJSON `json:"lines"`
	Late   bandJSON `json:"late_orders"`
}

type chanceJSON struct {
	P  *float64 `json:"p_share"`
	SE *float64 `json:"se_share"`
}

type gradeJSON struct {
	Grade string          `json:"grade"`
	Worst bandJSON        `json:"worst_t"`
	Weeks []gradeWeekJSON `json:"weeks"`
}

type gradeWeekJSON struct {
	Short     chanceJSON `json:"short"`
	ByWeek    chanceJSON `json:"short_by_then"`
	Committed chanceJSON `json:"short_by_then_committed"`
	Owed      float64    `json:"owed_mean_t"`
}

type driverJSON struct {
	Kind   string  `json:"kind"`
	Name   string  `json:"name"`
	Unit   string  `json:"unit"`
	Margin float64 `json:"margin_rank_correlation"`
	Metres float64 `json:"metres_rank_correlation"`
	Share  float64 `json:"share"`
}

type orderRiskJSON struct {
	Order    string     `json:"order"`
	Profile  string     `json:"profile"`
	Due      string     `json:"due"`
	Late     chanceJSON `json:"late"`
	PlanLate bool       `json:"late_in_plan"`
}

type loadRiskJSON struct {
	Code     string `json:"code"`
	Material string `json:"material"`
	Planned  string `json:"planned"`
	P10      string `json:"p10"`
	P50      string `json:"p50"`
	P90      string `json:"p90"`
}

type loadWorthJSON struct {
	Code     string  `json:"code"`
	Material string  `json:"material"`
	Kg       float64 `json:"mass_kg"`
	Week     float64 `json:"week_earlier_money"`
	WeekSE   float64 `json:"week_earlier_se_money"`
	Value    float64 `json:"value_money"`
	ValueSE  float64 `json:"value_se_money"`
	More     float64 `json:"another_money"`
	MoreSE   float64 `json:"another_se_money"`
	Samples  int     `json:"samples"`
}

type orderByRiskJSON struct {
	Grade   string     `json:"grade"`
	Lane    string     `json:"lane"`
	By      *string    `json:"by"`
	TooLate bool       `json:"too_late"`
	SE      float64    `json:"by_se_d"`
	Short   chanceJSON `json:"short"`
	Formula *string    `json:"plan_by"`
	Loads   int        `json:"loads"`
}

func bandOf(b forecast.Band) bandJSON {
	return bandJSON{b.Plan, b.P10, b.P50, b.P90, b.Mean, b.MeanSE, b.P10SE, b.P90SE}
}

func chanceOf(c forecast.Chance) chanceJSON { return chanceJSON{number(c.P), number(c.SE)} }

func forecastDocumentOf(r *forecast.Result) forecastDocument {
	d := forecastDocument{Schema: ForecastSchema, Plant: r.Plant, Currency: r.Currency, PlanMade: r.Made.Format(time.RFC3339), Start: r.Start.String(), Seed: r.Seed,
		Asked: r.Asked, Runs: r.Runs, Failed: r.Failed, Stop: r.Stop.String(), Metres: bandOf(r.TotalMetres), Margin: bandOf(r.TotalMargin),
		Weeks: []weekJSON{}, Grades: []gradeJSON{}, Drivers: []driverJSON{}, Orders: []orderRiskJSON{}, Loads: []loadRiskJSON{}, LoadWorth: []loadWorthJSON{}, OrderBy: []orderByRiskJSON{}, Service: r.Service, Spread: r.Spread.Named(), Estimated: r.Estimated}
	if o := r.OrderNow; o != nil {
		d.OrderNow = &orderNowJSON{Scenarios: o.Scenarios, Weeks: o.Weeks, Orders: []nearOrderJSON{}, Cost: number(o.Cost), Bound: number(o.Bound), PlanCost: number(o.PlanCost),
			MeanCost: number(o.MeanCost), Foresight: number(o.Foresight), VSS: number(o.VSS), EVPI: number(o.EVPI), Stop: o.Stop.String()}
		for _, x := range o.Orders {
			d.OrderNow.Orders = append(d.OrderNow.Orders, nearOrderJSON{x.Lane, x.Day.String(), x.Loads, x.Plan, x.Mean})
		}
	}
	for t, w := range r.Weeks {
		d.Weeks = append(d.Weeks, weekJSON{w.Span.From.String(), w.Span.To.String(), bandOf(r.Metres[t]), bandOf(r.Margin[t]), bandOf(r.Cover[t]), bandOf(r.Feed[t]),
			bandOf(r.Lines[t]), bandOf(r.Late[t])})
	}
	for _, g := range r.Grades {
		x := gradeJSON{Grade: g.Grade, Worst: bandOf(g.Worst), Weeks: []gradeWeekJSON{}}
		for t := range g.Short {
			x.Weeks = append(x.Weeks, gradeWeekJSON{chanceOf(g.Short[t]), chanceOf(g.ByWeek[t]), chanceOf(g.Committed[t]), g.Tonnes[t]})
		}
		d.Grades = append(d.Grades, x)
	}
	for _, x := range r.Drivers {
		d.Drivers = append(d.Drivers, driverJSON(x))
	}
	for _, o := range r.Orders {
		d.Orders = append(d.Orders, orderRiskJSON{o.Order, o.Profile, o.Due.String(), chanceOf(o.Late), o.PlanLate})
	}
	for _, l := range r.Loads {
		d.Loads = append(d.Loads, loadRiskJSON{l.Code, l.Material, l.Planned.String(), l.P10.String(), l.P50.String(), l.P90.String()})
	}
	for _, l := range r.LoadWorth {
		d.LoadWorth = append(d.LoadWorth, loadWorthJSON{l.Code, l.Material, l.Kg, l.Week, l.WeekSE, l.Value, l.ValueSE, l.More, l.MoreSE, l.Samples})
	}
	for _, o := range r.OrderBy {
		d.OrderBy = append(d.OrderBy, orderByRiskJSON{o.Grade, o.Lane, day(o.By), o.TooLate, o.SE, chanceOf(o.Short), day(o.Formula), o.Loads})
	}
	return d
}
