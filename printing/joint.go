package printing

import (
	"fairset/craft/fastening"
	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/sheet"
)

// joint: how neck and body are set to each other and bolted.
var joint = []Entry{
	{Name: "side", Title: "Neck joint from the side", About: "Neck, joint and bridge from the side with the neck's angle and the gap at the saddle.", Draw: drawSide},
	{Name: "jig", Title: "Jig for the neck angle", About: "A wedge that holds the neck's angle over the length of a jig, and the bevel between heel face and board.", Draw: drawJig},
	{Name: "heel", Title: "Heel, mortise and bolts", About: "Heel and body with tenon, mortise and every bolt hole from one datum, drills and stops.", Draw: drawHeel},
	{Name: "drill-template", Title: "Drilling template", About: "Templates to fold over the top edge of heel and body, to prick the bolt centres through.", Draw: drawDrillTemplate},
}

// target is the neck set a design asks for.
func target(s Source) (neckset.Build, neckset.Target, error) {
	if s.Guitar.Start == guitar.FromReadings {
		return neckset.Build{}, neckset.Target{}, NeedDesign()
	}
	b := guitar.Build(s.Design())
	t, _, err := b.Target()
	return b, t, err
}

func drawSide(s Source) ([]*drawing.Sheet, error) {
	b, t, err := target(s)
	if err != nil {
		return nil, err
	}
	d := s.Design()
	in := sheet.JointInput{Build: b, Target: t, Heel: guitar.Heel(d), TenonLength: d.Length("tenon_length"), Frets: d.Count("frets")}
	return []*drawing.Sheet{sheet.JointSide(in, s.Head())}, nil
}

func drawJig(s Source) ([]*drawing.Sheet, error) {
	_, t, err := target(s)
	if err != nil {
		return nil, err
	}
	run := s.JigLength
	if run == 0 {
		run = s.Design().Length("jig_run")
	}
	return []*drawing.Sheet{sheet.JigTemplate(sheet.JigInput{Target: t, Run: run}, s.Head())}, nil
}

// joinery is heel and body with the holes of the design, and the mortise as it was last measured.
func joinery(s Source) (sheet.JoineryInput, error) {
	if s.Guitar.Start == guitar.FromReadings {
		return sheet.JoineryInput{}, NeedDesign()
	}
	d := s.Design()
	plan, holds, _, err := guitar.PlanJoint(d, nil, s.Bench.Drills)
	if err != nil {
		return sheet.JoineryInput{}, lacking(err)
	}
	in := sheet.JoineryInput{
		Bolts: sheet.BoltInput{Heel: guitar.Heel(d), TenonWidth: d.Length("tenon_width"), Depths: d.Lengths("bolt_depths")},
		Plan:  plan, TenonLength: d.Length("tenon_length"), Block: d.Length("block_thickness"), Proud: d.Length("neck_proud"), Caution: s.say(guitar.CautionDrill)}
	if plan.Kind == fastening.KindBarrel {
		in.Barrel = holds.Barrel
	}
	if e := s.Bench.Step(guitar.StepTenon).Last; e != nil {
		in.MortiseWidth, in.MortiseDepth = e.Values.Length("mortise_width"), e.Values.Length("mortise_depth")
		in.Bolts.TenonWidth, in.TenonLength = e.Values.Length("tenon_width"), e.Values.Length("tenon_length")
	}
	return in, nil
}

func drawHeel(s Source) ([]*drawing.Sheet, error) {
	in, err := joinery(s)
	if err != nil {
		return nil, err
	}
	return []*drawing.Sheet{sheet.Joinery(in, s.Head())}, nil
}

func drawDrillTemplate(s Source) ([]*drawing.Sheet, error) {
	in, err := joinery(s)
	if err != nil {
		return nil, err
	}
	return []*drawing.Sheet{sheet.DrillTemplate(in, s.Head())}, nil
}
