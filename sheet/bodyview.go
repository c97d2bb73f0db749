package sheet

import (
	"fmt"
	"math"

	"fairset/craft/body"
	"fairset/drawing"
	"fairset/unit"
)

// BodyViewOptions of a picture of the top.
type BodyViewOptions struct {
	Style      unit.Style
	Narrow     bool
	LeftHanded bool
}

// BodyView pictures a top with its braces for a screen, neck up, as if it were glass. Each brace bears a number, which the key says. The Path
// "outline", the Circle "soundhole", and "brace-1" and so on are drawn to the sheet's scale.
func BodyView(s body.Soundboard, o BodyViewOptions) *drawing.Sheet {
	w, say := pageWidth(o.Narrow), o.Style.Say
	c := newCanvas(w, say("The top and its braces"))
	widest, _ := s.Outline.Widest()
	length := s.Outline.Length().MM()
	k := math.Min((narrowWidth-2*margin)/widest.MM(), 125/length)
	c.sheet.ScaleX, c.sheet.ScaleY = k, k
	side := -1.0
	if o.LeftHanded {
		side = 1
	}
	cx := margin + widest.MM()*k/2
	if o.Narrow {
		cx = w / 2
	}
	at := func(p body.Point) drawing.Point { return pt(cx+side*p.Y.MM()*k, p.X.MM()*k) }

	c.add(drawing.Item{Layer: drawing.LayerWood, Name: "outline", Fill: drawing.Spruce, Shape: edgePath(s.Outline.Curves(), at, true)})
	c.line(drawing.LayerDatum, "", cx, 0, cx, length*k)
	for i, h := range s.Holes {
		name := "soundhole"
		if i > 0 {
			name = fmt.Sprintf("soundhole-%d", i+1)
		}
		p := at(h.Centre)
		c.circle(drawing.LayerWood, name, drawing.Paper, p.X.MM(), p.Y.MM(), h.Radius.MM()*k)
	}
	for i, p := range s.Patches {
		c.polygon(drawing.LayerMark, fmt.Sprintf("plate-%d", i+1), drawing.Bone, onPaper(p.Corners[:], at)...)
	}
	for i, b := range s.Braces {
		q := b.Corners()
		c.polygon(drawing.LayerMark, fmt.Sprintf("brace-%d", i+1), drawing.Wood, onPaper(q[:], at)...).Pen.Weight = mm(0.2)
	}
	if b := s.Bridge; b != nil {
		q := b.Corners()
		c.polygon(drawing.LayerEdge, "bridge", "", onPaper(q[:], at)...)
	}

	// A number on each brace, where it stands clear of the others'.
	page := box(0, -1, w, length*k+1)
	var key []string
	for i, b := range s.Braces {
		said := fmt.Sprint(i + 1)
		var spots []drawing.Text
		for _, share := range []float64{0.5, 0.25, 0.75, 0.35, 0.65, 0.15, 0.85, 0.08, 0.92} {
			p, q := at(b.From), at(b.To)
			x, y := p.X.MM()+share*(q.X-p.X).MM(), p.Y.MM()+share*(q.Y-p.Y).MM()
			t := label(x, y-small*0.36, small, drawing.Middle, said)
			t.Bold, t.Halo = true, drawing.Spruce
			spots = append(spots, t)
		}
		c.place(fmt.Sprintf("number-%d", i+1), page, spots...)
		key = append(key, said+" "+say("%v: %s, %s", body.Called(b.Name), nb(say("%v long", b.Length())), nb(b.Width.Number(o.Style)+" × "+b.Tallest().In(o.Style))))
	}
	if len(s.Patches) > 0 {
		key = append(key, say("Pale: %v, %s. Dashed: bridge.", body.Called(s.Patches[0].Name), nb(s.Patches[0].Thickness.In(o.Style))))
	}

	bottom, x, y, room := 0.0, margin, -small*0.4, w-2*margin
	if !o.Narrow {
		x = cx + widest.MM()*k/2 + 5
		y, room = length*k-1, w-margin-x
	}
	for _, line := range key {
		for i, l := range drawing.Wrap(line, mm(small), false, mm(room)) {
			y -= small * 1.32
			indent := 0.0
			if i > 0 {
				indent = small
			}
			c.text("key", label(x+indent, y, small, drawing.Start, fit(l, small, false, room-indent)))
		}
		y -= small * 0.25
	}
	bottom = math.Min(bottom, y-small*0.3)
	c.sheet.Desc = say("The top from above with the neck up, as if it were glass: edge, soundhole, bridge, and under it %s.", o.Style.Count(len(s.Braces), "%d brace", "%d braces"))
	c.sheet.Table = partsTable(s, o.Style)
	return c.done(bottom-1, length*k+1)
}
