package printing

import (
	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/sheet"
)

// bridge: bridge, saddle and nut.
var bridge = []Entry{
	{Name: "bridge", Title: "Bridge and saddle", About: "Where saddle, bridge and pins go on this guitar's top, set out from the nut as measured.", Draw: drawBridge},
	{Name: "nut-saddle", Title: "Nut and saddle", About: "Nut and saddle blanks at full size, with the slots of the nut and the top of the saddle.", Draw: drawBlanks},
}

func drawBridge(s Source) ([]*drawing.Sheet, error) {
	p, err := s.Guitar.SaddlePlace()
	if err != nil {
		return nil, notYet(err)
	}
	shape := guitar.BridgeShapeOf(s.Design())
	in := sheet.BridgeInput{FromNut: p.FromNut, NutToJoint: p.NutToJoint, Planned: p.Planned, Slope: p.Slope, Wanted: p.Wanted, Blank: p.Blank,
		Width: shape.Across, Depth: shape.Along, Front: shape.Front, PinsBehind: shape.PinsBehind, PinSpread: shape.PinSpread, Caution: s.say(guitar.CautionGlue)}
	for _, q := range p.Points {
		in.Names, in.Across, in.Along = append(in.Names, q.Name), append(in.Across, q.Across), append(in.Along, q.FromNut)
	}
	if e, ok := s.Guitar.Last(guitar.StepBridge); ok {
		in.Read = read(e.At)
	}
	return []*drawing.Sheet{sheet.BridgePlace(s.Head(), in)}, nil
}

func drawBlanks(s Source) ([]*drawing.Sheet, error) {
	if s.Guitar.Start == guitar.FromReadings {
		return nil, NeedDesign()
	}
	b, err := guitar.BlanksOf(s.Design())
	if err != nil {
		return nil, err
	}
	in := sheet.BlankInput{Names: b.Board.Names, Layout: b.Board.Layout, Slots: b.Board.Nut, Moves: b.NutMoves, Radius: b.Radius, Blank: b.Blank, Caution: s.say(guitar.CautionString) + " " + s.say(guitar.CautionSand)}
	for _, c := range b.Saddle {
		in.Saddle = append(in.Saddle, sheet.SaddleTopPlace{Along: c.Along, Over: c.Over, Behind: c.Behind, Wanted: c.Wanted})
	}
	return []*drawing.Sheet{sheet.Blanks(s.Head(), in)}, nil
}
