package api

import (
	"context"

	"fairset/craft/bill"
	"fairset/internal/access"
	"fairset/internal/shop"
	"fairset/unit"
)

// BillReply is what one guitar takes, or several together.
type BillReply struct {
	Guitars     []string   `json:"guitars" doc:"their names"`
	Items       []BillItem `json:"items"`
	Total       float64    `json:"total" doc:"of the items that have a price"`
	Currency    string     `json:"currency" doc:"as the shop writes it; may be empty"`
	Without     int        `json:"without_price" doc:"items that have none and are not in the total"`
	Parts       []BillPart `json:"parts" doc:"to cut; each guitar's own"`
	Holes       []BillHole `json:"holes" doc:"to drill; thinnest drill first when there are several guitars"`
	Consumables []string   `json:"consumables" doc:"to have at hand; no amounts"`
	Missing     []string   `json:"missing" doc:"what the designs do not give the size of"`
	Warnings    []Warning  `json:"warnings"`
}

// BillItem is one thing to have.
type BillItem struct {
	Key    string  `json:"key" doc:"what a price is given for"`
	Name   string  `json:"name"`
	Say    string  `json:"quantity" doc:"in words"`
	Amount float64 `json:"amount"`
	Unit   string  `json:"unit" enum:"each,set,m,m3"`
	Pieces int     `json:"pieces" doc:"of wood; 0 for what is counted otherwise"`
	Price  string  `json:"price" doc:"empty for none yet"`
	Cost   float64 `json:"cost"`
}

// BillPart is one part to cut, or several alike.
type BillPart struct {
	Guitar    string     `json:"guitar"`
	Name      string     `json:"name"`
	Wood      string     `json:"wood" doc:"empty when the design does not say"`
	Count     int        `json:"count"`
	Finished  [3]float64 `json:"finished_mm" doc:"length, width, thickness"`
	Rough     [3]float64 `json:"rough_mm" doc:"length, width, thickness"`
	Litres    float64    `json:"litres" doc:"of all pieces at their rough size"`
	BoardFeet float64    `json:"board_feet"`
	From      string     `json:"from" doc:"how the size follows"`
}

// BillHole is one kind of hole.
type BillHole struct {
	Guitars  []string `json:"guitars"`
	Part     string   `json:"part"`
	What     string   `json:"what"`
	Drill    string   `json:"drill"`
	Diameter float64  `json:"diameter_mm"`
	Stop     float64  `json:"stop_mm" doc:"0 for through"`
	Count    int      `json:"count"`
}

var billUnits = map[bill.Kind]string{bill.ByPiece: "each", bill.BySet: "set", bill.ByLength: "m", bill.ByVolume: "m3"}

func (s *server) billRoutes() {
	add(s, access.Member, "GET", "/guitars/{id}/bill", "What the guitar takes: parts, holes, hardware, and what it costs at the shop's prices", s.bill)
}

func (s *server) bill(ctx context.Context, in *One) (BillReply, error) {
	v, err := s.shop.Guitar(ctx, in.ID)
	if err != nil {
		return BillReply{}, err
	}
	return BillOf([]shop.View{v}, s.style(ctx, in.Units))
}

// BillOf adds up what guitars of one shop take.
func BillOf(vs []shop.View, style unit.Style) (BillReply, error) {
	out := BillReply{Guitars: []string{}, Items: []BillItem{}, Parts: []BillPart{}, Holes: []BillHole{}, Consumables: []string{}, Missing: []string{}}
	var items [][]bill.Item
	var holes [][]bill.Drilled
	var warn []unit.Warning
	seen, used := map[string]bool{}, map[string]bool{}
	var prices bill.Prices
	for _, v := range vs {
		d := v.Bench.Design
		out.Guitars = append(out.Guitars, v.Guitar.Name)
		out.Currency = v.Settings.Currency
		p, err := bill.ParsePrices(v.Settings.Prices)
		if err != nil {
			return out, err
		}
		prices = p
		items = append(items, bill.Items(d))
		hs, w, err := bill.Holes(v.Guitar.Name, d, v.Bench.Drills)
		if err != nil {
			return out, err
		}
		holes, warn = append(holes, hs), append(warn, w...)
		parts, missing := bill.Parts(d)
		for _, p := range parts {
			out.Parts = append(out.Parts, BillPart{v.Guitar.Name, p.Name.In(style), p.Wood.In(style), p.Count, threeMM(p.Finished), threeMM(p.Rough), p.Litres(), p.BoardFeet(), p.From.In(style)})
		}
		for _, m := range unit.Each(missing, style) {
			if !seen[m] {
				seen[m] = true
				out.Missing = append(out.Missing, m)
			}
		}
		for _, c := range bill.Consumables(d).In(style) {
			if !used[c] {
				used[c] = true
				out.Consumables = append(out.Consumables, c)
			}
		}
	}
	b := bill.Cost(bill.Add(items...), prices)
	out.Total, out.Without = b.Total, b.Without
	for _, l := range b.Lines {
		it := BillItem{l.Key, l.Name.In(style), l.Quantity(style), l.Amount, billUnits[l.Kind], l.Pieces, "", l.Cost}
		if l.Priced {
			it.Price = l.Price.Edit(style)
		}
		out.Items = append(out.Items, it)
	}
	list := bill.AddHoles(holes...)
	if len(vs) == 1 { // one guitar's holes stay in the order they are drilled
		list = holes[0]
	}
	for _, h := range list {
		out.Holes = append(out.Holes, billHole(h, style))
	}
	out.Warnings = warnings(warn, style)
	return out, nil
}

func billHole(h bill.Drilled, s unit.Style) BillHole {
	return BillHole{h.Guitars, h.Part.In(s), h.What.In(s), h.Drill.Said(), h.Drill.Diameter.MM(), h.Depth.MM(), h.Count}
}

func threeMM(v [3]unit.Length) [3]float64 { return [3]float64{v[0].MM(), v[1].MM(), v[2].MM()} }
