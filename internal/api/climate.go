package api

import (
	"context"
	"time"

	"fairset/craft/climate"
	"fairset/internal/access"
	"fairset/internal/shop"
	"fairset/unit"

	"github.com/danielgtaylor/huma/v2"
)

// Air is one reading of the shop's air.
type Air struct {
	At          time.Time `json:"at" doc:"with its zone"`
	Place       string    `json:"place,omitempty" maxLength:"60"`
	Temperature float64   `json:"temperature_c" minimum:"-20" maximum:"60"`
	Humidity    float64   `json:"relative_humidity_percent" minimum:"1" maximum:"99"`
}

func (a Air) reading() climate.Reading {
	return climate.Reading{At: a.At, Place: a.Place, Temperature: a.Temperature, Humidity: a.Humidity}
}

func airOf(r climate.Reading) Air { return Air{r.At, r.Place, r.Temperature, r.Humidity} }

// AskAir asks for the log.
type AskAir struct {
	Spoken
	Place     string    `query:"place" doc:"left out: the place with most readings"`
	From      time.Time `query:"from" doc:"RFC 3339; left out: from the first"`
	Before    time.Time `query:"before" doc:"RFC 3339; left out: to the last"`
	Thickness float64   `query:"thickness_mm" doc:"of the bare wood that follows the air, open on both faces; 0 for a top's" minimum:"0" maximum:"200"`
}

// AirPoint is a reading with what it means for wood.
type AirPoint struct {
	Air
	EMC    float64 `json:"emc_percent" doc:"moisture wood would come to"`
	Behind float64 `json:"behind_percent" doc:"moisture of wood that follows slowly: an order of magnitude"`
}

// AirLog is the log of one place.
type AirLog struct {
	Places    []string   `json:"places" doc:"the one with most readings first"`
	Place     string     `json:"place"`
	Readings  []AirPoint `json:"readings" doc:"in order of time"`
	BandLow   float64    `json:"band_low_percent" doc:"common practice, no source"`
	BandHigh  float64    `json:"band_high_percent"`
	Inside    float64    `json:"inside_share" doc:"share of the time in the band"`
	Drier     float64    `json:"drier_share"`
	Damper    float64    `json:"damper_share"`
	Thickness float64    `json:"thickness_mm"`
	LagHours  float64    `json:"lag_hours" doc:"time constant of the wood that follows: an order of magnitude"`
}

// AddAir keeps readings.
type AddAir struct {
	Spoken
	Body struct {
		Readings []Air `json:"readings" minItems:"1" maxItems:"10000"`
	}
}

// AirAdded says what became of readings.
type AirAdded struct {
	Added  int   `json:"added"`
	Same   int   `json:"same" doc:"here already, or twice in the file; not doubled"`
	Differ []Air `json:"differ" doc:"kept out: another figure is here for the same time and place"`
}

// TakeAir takes in a logger's file.
type TakeAir struct {
	Spoken
	Body struct {
		CSV   string `json:"csv" doc:"the file's text"`
		Place string `json:"place,omitempty" maxLength:"60" doc:"of readings whose file names none"`
		Dates string `json:"dates,omitempty" enum:"day,month" doc:"what dates such as 3/4/2026 begin with; left out: as the file tells"`
		Unit  string `json:"unit,omitempty" enum:"c,f" doc:"of temperatures without a unit; left out: as the file tells"`
		Zone  string `json:"zone,omitempty" maxLength:"60" doc:"of times without one, such as Europe/Paris; left out: UTC"`
	}
}

// AirTaken says what became of a file.
type AirTaken struct {
	AirAdded
	Notes []string  `json:"notes" doc:"how the file was read"`
	Bad   []AirLine `json:"bad_lines"`
}

// AirLine is a line that was not understood.
type AirLine struct {
	Line int    `json:"line"`
	Why  string `json:"why"`
	Text string `json:"text"`
}

// DropAir takes a reading away.
type DropAir struct {
	Spoken
	At    time.Time `query:"at" required:"true"`
	Place string    `query:"place"`
}

// Dropped is what was taken away.
type Dropped struct {
	At    time.Time `json:"at"`
	Place string    `json:"place"`
}

func (s *server) climateRoutes() {
	add(s, access.Member, "GET", "/climate", "The shop's air at one place, and the wood in it", s.climate)
	add(s, access.Member, "POST", "/climate", "Keep readings of the shop's air; none is doubled", s.addClimate, created)
	add(s, access.Teacher, "DELETE", "/climate", "Take a reading away that was typed wrong", s.dropClimate)
	add(s, access.Teacher, "POST", "/climate/import", "Take in the file of a climate logger", s.takeClimate, func(op *huma.Operation) {
		op.MaxBodyBytes, op.BodyReadTimeout = 2*climate.MostBytes, -1
	})
}

func (s *server) climate(ctx context.Context, in *AskAir) (AirLog, error) {
	v, err := s.shop.Climate(ctx, shop.ClimateAsk{From: in.From, Before: in.Before, Place: in.Place, Thickness: unit.Length(in.Thickness) * unit.MM})
	if err != nil {
		return AirLog{}, err
	}
	out := AirLog{Places: append([]string{}, v.Places...), Place: v.Place, Readings: []AirPoint{}, BandLow: v.Band.Low, BandHigh: v.Band.High, Inside: v.Summary.Inside, Drier: v.Summary.Drier, Damper: v.Summary.Damper,
		Thickness: v.Thickness.MM(), LagHours: v.Lag.Hours()}
	for _, p := range v.Points {
		out.Readings = append(out.Readings, AirPoint{airOf(p.Reading), p.EMC, p.Behind})
	}
	return out, nil
}

func (s *server) addClimate(ctx context.Context, in *AddAir) (AirAdded, error) {
	var rs []climate.Reading
	for _, a := range in.Body.Readings {
		rs = append(rs, a.reading())
	}
	got, err := s.shop.Store.AddClimate(ctx, rs)
	if err != nil {
		return AirAdded{}, err
	}
	out := AirAdded{Added: got.Added, Same: got.Same, Differ: []Air{}}
	for _, r := range got.Differ {
		out.Differ = append(out.Differ, airOf(r))
	}
	return out, nil
}

func (s *server) takeClimate(ctx context.Context, in *TakeAir) (AirTaken, error) {
	b, style := in.Body, in.style()
	o := climate.Options{Place: b.Place, Dates: climate.Order(b.Dates), Unit: b.Unit, Zone: time.UTC}
	if b.Zone != "" {
		z, err := time.LoadLocation(b.Zone)
		if err != nil {
			return AirTaken{}, refuse("zone", unit.Say("a name such as Europe/Paris"), "zone: there is no time zone %s", clip(b.Zone))
		}
		o.Zone = z
	}
	got, err := s.shop.ImportClimate(ctx, []byte(b.CSV), o)
	if q, asks := shop.AskedOf(err); asks {
		return AirTaken{}, refuse(q.Option, unit.Plain(q.Choices[0]+", "+q.Choices[1]), "%v", q.Say)
	}
	if err != nil {
		return AirTaken{}, err
	}
	out := AirTaken{AirAdded: AirAdded{Added: got.Added, Same: got.Same + got.Doubles, Differ: []Air{}}, Notes: unit.Each(got.Notes, style), Bad: []AirLine{}}
	for _, r := range got.Differ {
		out.Differ = append(out.Differ, airOf(r))
	}
	for _, l := range got.Bad {
		out.Bad = append(out.Bad, AirLine{l.Line, l.Why.In(style), l.Text})
	}
	return out, nil
}

func (s *server) dropClimate(ctx context.Context, in *DropAir) (Dropped, error) {
	return Dropped{in.At, in.Place}, s.shop.RemoveClimate(ctx, in.At, in.Place)
}
