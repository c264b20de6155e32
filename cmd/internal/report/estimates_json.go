package report

import (
	"io"

	"feedline/inventory/quantity"
	"feedline/planner"
	"feedline/planner/estimates"
)

// EstimatesSchema names the JSON of estimates.
const EstimatesSchema = "feedline.estimates/1"

const lengthKind = quantity.KindLength

func metres(x float64) quantity.Length { return quantity.Length(x) }

type estimatesDoc struct {
	Schema    string        `json:"schema"`
	Plant     string        `json:"plant"`
	Entries   int           `json:"entries"`
	Estimates []estimateDoc `json:"estimates"`
	Charts    []chartDoc    `json:"charts"`
	OEE       []oeeDoc      `json:"oee"`
	Forecasts []biasDoc     `json:"forecasts"`
}

// estimateDoc is an estimate in a plan and, with more of it, in a list of estimates.
type estimateDoc struct {
	Name    string   `json:"name"`
	Unit    string   `json:"unit"`
	Entered *float64 `json:"entered"`
	Value   *float64 `json:"value"`
	Low     *float64 `json:"low"`
	High    *float64 `json:"high"`
	Records int      `json:"records"`
	Text    string   `json:"text"`
	Used    bool     `json:"used"`
	Note    string   `json:"note"`
}

type chartDoc struct {
	Name       string     `json:"name"`
	Records    int        `json:"records"`
	Base       int        `json:"base"`
	Centre     *float64   `json:"centre"`
	Low        *float64   `json:"low"`
	High       *float64   `json:"high"`
	SmoothLow  *float64   `json:"smooth_low"`
	SmoothHigh *float64   `json:"smooth_high"`
	Values     []float64  `json:"values"`
	EWMA       []float64  `json:"ewma"`
	Alarms     []alarmDoc `json:"alarms"`
}

type alarmDoc struct {
	Index  int     `json:"index"`
	Code   string  `json:"code"`
	Day    string  `json:"day"`
	Smooth bool    `json:"smooth"`
	Value  float64 `json:"value"`
	Words  string  `json:"words"`
}

type oeeDoc struct {
	Line          string  `json:"line"`
	Busy          float64 `json:"busy_h"`
	Running       float64 `json:"running_h"`
	Availability  float64 `json:"availability_share"`
	Effectiveness float64 `json:"effectiveness_share"`
	Quality       float64 `json:"quality_share"`
	OEE           float64 `json:"oee_share"`
}

type biasDoc struct {
	Profile  string   `json:"profile"`
	Spans    int      `json:"spans"`
	Forecast float64  `json:"forecast_m"`
	Shipped  float64  `json:"shipped_m"`
	Bias     *float64 `json:"bias_m"`
	MAD      *float64 `json:"mad_m"`
	MAPE     *float64 `json:"mape_share"`
	Signal   *float64 `json:"signal"`
}

// EstimatesJSON writes what the records say as a document of EstimatesSchema.
func EstimatesJSON(w io.Writer, in *planner.Input, r estimates.Report) error {
	doc := estimatesDoc{Schema: EstimatesSchema, Plant: in.Plant.Name, Entries: r.Records, Estimates: []estimateDoc{}, Charts: []chartDoc{}, OEE: []oeeDoc{}, Forecasts: []biasDoc{}}
	for _, e := range r.Estimates {
		doc.Estimates = append(doc.Estimates, estimateOf(e.Estimate))
	}
	for _, c := range r.Charts {
		doc.Charts = append(doc.Charts, chartOf(c))
	}
	for _, o := range r.OEE {
		doc.OEE = append(doc.OEE, oeeDoc{o.Line, float64(o.PlannedBusy), float64(o.Production), float64(o.OEE.Availability), float64(o.Effectiveness), float64(o.Quality), float64(o.Index)})
	}
	for _, b := range r.Bias {
		doc.Forecasts = append(doc.Forecasts, biasDoc{b.Profile, b.Spans, b.Forecast, b.Shipped, number(b.Bias), number(b.MAD), number(b.MAPE), number(b.Signal)})
	}
	return writeDoc(w, doc)
}

func estimateOf(e planner.Estimate) estimateDoc {
	return estimateDoc{e.Name, e.Unit, number(e.Entered), number(e.Value), number(e.Low), number(e.High), e.Records, e.Text, e.Used, e.Note}
}

func estimatesOf(list []planner.Estimate) []estimateDoc {
	out := []estimateDoc{}
	for _, e := range list {
		out = append(out, estimateOf(e))
	}
	return out
}

func chartOf(c estimates.Chart) chartDoc {
	d := chartDoc{Name: c.Name, Records: len(c.Values), Base: c.Base, Centre: number(c.Single.Centre), Low: number(c.Single.Low), High: number(c.Single.High),
		SmoothLow: number(c.Smooth.Low), SmoothHigh: number(c.Smooth.High), Values: c.Values, EWMA: c.EWMA, Alarms: []alarmDoc{}}
	for _, a := range c.Alarms {
		d.Alarms = append(d.Alarms, alarmDoc{a.Index, c.Codes[a.Index], c.Days[a.Index].String(), a.Smooth, a.Value, a.Words})
	}
	return d
}
