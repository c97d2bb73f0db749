package web

import (
	"mime"
	"net/http"
	"net/url"

	"fairset/craft/guitar"
	"fairset/internal/shop"
	"fairset/printing"
	"fairset/sheet"
	"fairset/unit"
)

// guitarPageData is the bench of one guitar: what comes next, and how every step stands.
type guitarPageData struct {
	layout
	ID         string
	Revision   int64
	Seen       int
	Repair     bool
	Next       *stepLink
	NextDo     unit.Phrase // what to do there, when that is known already
	NextWord   unit.Text   // how that step stands, in words
	NextStatus guitar.Status
	Stuck      unit.Phrase
	Steps      []stepRow
	Picture    picture
	Shows      unit.Text // what the picture is
	Undo       string    // what an undo would undo, "" for nothing
	Notes      []noteRow
	Air        *airView
	Conflict   *conflict
	Wrong      string // what is wrong with a new name
	NewName    string
	Owner      *ownerForm // for a teacher of a shared shop
}

// stepRow is one step in the list.
type stepRow struct {
	stepLink
	Status   guitar.Status
	Says     unit.Text
	Optional bool
	Waiting  bool
	Figure   string
}

type noteRow struct{ Text, When string }

// guitarPage serves GET /guitar/{id}.
func guitarPage(in *request) error {
	v, err := in.guitar()
	if err != nil {
		return err
	}
	d := in.guitarData(v)
	if d.Owner, err = in.ownerForm(v); err != nil {
		return err
	}
	return in.render(http.StatusOK, "guitar", d)
}

func (in *request) guitarData(v shop.View) guitarPageData {
	g, b := v.Guitar, v.Bench
	d := guitarPageData{layout: in.guitarLayout("Bench", "bench", v), ID: g.ID, Revision: v.Revision, Seen: len(g.Log), Repair: g.Start == guitar.FromReadings, Stuck: b.Stuck, NewName: g.Name}
	for _, st := range b.Steps {
		row := stepRow{stepLink: *in.stepLink(g.ID, st.Guide), Status: st.Status, Says: st.Status.Name(), Optional: st.Optional,
			Waiting: st.Step == b.Waiting, Figure: stepFigure(v, st, in.prefs.Units)}
		if row.Waiting {
			link := row.stepLink
			d.Next, d.NextDo, d.NextWord, d.NextStatus = &link, st.Advice.Do, row.Says, st.Status
		}
		d.Steps = append(d.Steps, row)
	}
	if e, ok := g.LastEntry(); ok {
		d.Undo = entryWords(g, e, in.prefs.Units) + ", " + in.whoWhen(e)
	}
	for i := len(g.Log) - 1; i >= 0 && len(d.Notes) < 5; i-- {
		if e := g.Log[i]; e.Note() != "" && !e.Undone {
			d.Notes = append(d.Notes, noteRow{noteWords(e, in.prefs.Units), in.whoWhen(e)})
		}
	}
	if guitar.HasAir(b.Design) {
		d.Air = in.airFigures(b.Design)
	}
	c := &cutData{}
	if n := b.Cut; n != nil && b.Step(guitar.StepCut).Status == guitar.Working && n.Cut.Planned.Deepest() > 0 {
		in.drawCut(c, v, n)
		d.Picture, d.Shows = c.Heel, "The next cut"
	} else if p, ok := in.sidePicture("bench", v, sheet.Unstrung, false); ok {
		d.Picture, d.Shows = p, "What this guitar asks for"
	}
	return d
}

// stepFigure is the last figure of a step, as short as can be.
func stepFigure(v shop.View, st guitar.StepState, style unit.Style) string {
	b := v.Bench
	switch st.Step {
	case guitar.StepLean:
		if b.Lean.Known() && b.Aim.Known {
			return style.Say("%v, wanted %v", b.Lean.Mean, b.Aim.GapOnFrets)
		}
	case guitar.StepPoint:
		if b.Point.Known() {
			if b.Point.Mean == 0 {
				return style.Say("on the centre")
			}
			return toSide(b.Point.Mean).In(style)
		}
	case guitar.StepCut:
		if n := len(b.Passes); n > 0 {
			return style.Count(n, "%d pass made", "%d passes made")
		}
	}
	if st.Last == nil {
		return ""
	}
	x := st.Last.Values
	fields := v.Guitar.Fields(st.Step)
	w := func(key string) string { return fieldWords(fields, x, key, style) }
	switch st.Step {
	case guitar.StepTenon:
		return style.Say("room at the end %v", unit.FineLength(x.Length("mortise_depth")-x.Length("tenon_length")))
	case guitar.StepSeat:
		widest := max(x.Length("gap_bass_top"), x.Length("gap_bass_cap"), x.Length("gap_treble_top"), x.Length("gap_treble_cap"))
		return style.Say("widest gap %v", unit.FineLength(widest))
	case guitar.StepRoll:
		twist, _ := guitar.Roll(x)
		switch {
		case twist == 0:
			return style.Say("no roll")
		case twist < 0:
			return style.Say("bass side higher by %v", unit.FineLength(-twist))
		}
		return style.Say("treble side higher by %v", unit.FineLength(twist))
	case guitar.StepDrill:
		return style.Say("centres %s", w("centres_neck"))
	case guitar.StepTighten:
		return style.Say("gap %s when tight", w("gap"))
	case guitar.StepBridge:
		return style.Say("nut to body's edge %s", w("nut_to_joint"))
	case guitar.StepStrung:
		return style.Say("action %s and %s", w("action_bass"), w("action_treble"))
	}
	return ""
}

// rename serves POST /guitar/{id}/rename.
func rename(in *request) error {
	return in.manage(func(id string, revision int64) (string, string, error) {
		v, err := in.srv.shop.Rename(in.Context(), id, revision, in.PostForm.Get("name"))
		if err != nil {
			return "", "", err
		}
		return guitarURL(id), in.tell("It is called %s now.", v.Guitar.Name), nil
	})
}

// remove serves POST /guitar/{id}/remove: the guitar is put aside, and the shop page can put it back.
func remove(in *request) error {
	return in.manage(func(id string, revision int64) (string, string, error) {
		v, err := in.srv.shop.Remove(in.Context(), id, revision)
		if err != nil {
			return "", "", err
		}
		return "/shop", in.tell("%s was removed. Nothing of it is lost: it can be put back from this page.", v.Guitar.Name), nil
	})
}

// undo serves POST /guitar/{id}/undo.
func undo(in *request) error {
	return in.manage(func(id string, revision int64) (string, string, error) {
		v, e, err := in.srv.shop.Undo(in.Context(), id, revision)
		if err != nil {
			return "", "", err
		}
		to := guitarURL(id)
		if in.PostForm.Get("back") == "history" {
			to += "/history"
		}
		return to, in.tell("Undone: %s.", entryWords(v.Guitar, e, in.prefs.Units)), nil
	})
}

// manage makes one change from the bench page. A change refused shows that page again and says why.
func (in *request) manage(change func(id string, revision int64) (to, notice string, err error)) error {
	if err := in.ParseForm(); err != nil {
		return err
	}
	v, err := in.guitar()
	if err != nil {
		return err
	}
	revision, seen, err := in.standing()
	if err != nil {
		return err
	}
	to, notice, err := change(v.Guitar.ID, revision)
	if err == nil {
		return in.back(to, "%s", notice)
	}
	status := http.StatusUnprocessableEntity
	problems := rangeErrors(err)
	conflicts := shop.Status(err) == http.StatusConflict
	if v, again := in.guitar(); again == nil && !v.Removed && (conflicts || problems != nil) {
		d := in.guitarData(v)
		if conflicts {
			status = http.StatusConflict
			d.Conflict = in.conflict(v, seen)
		} else {
			d.Wrong, d.NewName = problems[0].In(in.prefs.Units), in.PostForm.Get("name")
		}
		return in.render(status, "guitar", d)
	}
	return err
}

// exportGuitar serves GET /guitar/{id}/export: the whole record as a file.
func exportGuitar(in *request) error {
	v, err := in.guitar()
	if err != nil {
		return err
	}
	data, err := in.srv.shop.Export(in.Context(), v.Guitar.ID)
	if err != nil {
		return err
	}
	in.download(fileName(v.Guitar.Name, v.Guitar.ID), data)
	return nil
}

// download sends a file to keep.
func (in *request) download(name string, data []byte) {
	h := in.w.Header()
	h.Set("Content-Type", "application/json; charset=utf-8")
	h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	_, _ = in.w.Write(data)
}

// fileName makes a name that every system can keep a file under.
func fileName(name, id string) string {
	return printing.FileName(name, "guitar") + "-" + url.PathEscape(id) + ".fairset.json"
}
