package api

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/figure"
	"fairset/internal/access"
	"fairset/internal/place"
	"fairset/internal/shop"
	"fairset/unit"

	"github.com/danielgtaylor/huma/v2"
)

// Units is the query every route takes whose reply has sentences.
type Units struct {
	Spoken
	Units string `query:"units" enum:"in64,inch,mm" doc:"units of the sentences, and of strings that name none; the shop's when left out"`
}

// One names a guitar.
type One struct {
	Units
	ID string `path:"id" doc:"the guitar's id, or its name if no other has it" maxLength:"200"`
}

type reply[O any] struct{ Body O }

// file is a reply of ready-made JSON.
type file struct {
	Disposition string `header:"Content-Disposition" doc:"name to save the file under"`
	Type        string `header:"Content-Type"`
	Body        []byte
}

// add registers one route.
func add[I, O any](s *server, who access.Rule, method, path, summary string, do func(context.Context, *I) (O, error), more ...func(*huma.Operation)) {
	op := huma.Operation{Method: method, Path: Prefix + path, Summary: summary, OperationID: name(method, path), Errors: nil}
	s.guard(&op, who)
	for _, m := range more {
		m(&op)
	}
	huma.Register(s.api, op, func(ctx context.Context, in *I) (*reply[O], error) {
		out, err := do(ctx, in)
		if err != nil {
			return nil, s.said(ctx, in, err)
		}
		return &reply[O]{out}, nil
	})
}

// addFile registers a route that gives ready-made JSON described by schema.
func addFile[I any](s *server, who access.Rule, method, path, summary string, schema *huma.Schema, do func(context.Context, *I) (*file, error), more ...func(*huma.Operation)) {
	op := huma.Operation{Method: method, Path: Prefix + path, Summary: summary, OperationID: name(method, path)}
	s.guard(&op, who)
	op.Responses = map[string]*huma.Response{"200": {Description: "OK", Content: map[string]*huma.MediaType{"application/json": {Schema: schema}}}}
	for _, m := range more {
		m(&op)
	}
	huma.Register(s.api, op, func(ctx context.Context, in *I) (*file, error) {
		out, err := do(ctx, in)
		if err != nil {
			return nil, s.said(ctx, in, err)
		}
		out.Type = "application/json"
		return out, nil
	})
}

// asker is a request that says its units or its language.
type asker interface{ asked() Units }

func (u Units) asked() Units { return u }

func (s *server) said(ctx context.Context, in any, err error) error {
	var u Units
	if a, ok := in.(asker); ok {
		u = a.asked()
	}
	return problem(err, s.style(ctx, u))
}

// name makes an operation's id: "get-guitars-id-cut".
func name(method, path string) string {
	return strings.ToLower(method) + strings.NewReplacer("/", "-", "{", "", "}", "", ".", "-").Replace(path)
}

func created(op *huma.Operation) { op.DefaultStatus = http.StatusCreated }

// object is a schema of ready-made JSON that has one of its own.
func object(raw json.RawMessage) *huma.Schema {
	var m map[string]any
	if err := json.Unmarshal(raw, &m); err != nil {
		panic(err) // made by us
	}
	delete(m, "$schema")
	return &huma.Schema{Extensions: m}
}

func fileSchema() *huma.Schema {
	return &huma.Schema{Type: huma.TypeObject, Description: "a guitar file or shop file; its schema is at " + Prefix + "/schema"}
}

// The requests.
type (
	// NewGuitar starts a guitar.
	NewGuitar struct {
		Units
		Body struct {
			Name   string  `json:"name" minLength:"1" maxLength:"200"`
			Start  string  `json:"start,omitempty" enum:"design,readings" doc:"design when left out; readings starts a repair"`
			Design string  `json:"design,omitempty" doc:"starting design, one of /api/v1/designs; for a start from a design"`
			Values Answers `json:"values,omitempty" doc:"what differs from the starting design, or for a repair what is there"`
		}
	}
	// AskCut asks for the next cut.
	AskCut struct {
		One
		Tool   string `query:"tool" doc:"tool to cut with, one of the tools of the cut step; the last one used when left out"`
		Judged string `query:"judged" enum:"marks,strokes" doc:"how its depth will be judged; as last time when left out"`
	}
	// Based is a change that must know the revision it changes.
	Based struct {
		One
		Body struct {
			Revision int64 `json:"revision"`
		}
	}
	// Rename gives a guitar another name.
	Rename struct {
		One
		Body struct {
			Revision int64  `json:"revision"`
			Name     string `json:"name" minLength:"1" maxLength:"200"`
		}
	}
	// Remove puts a guitar away.
	Remove struct {
		One
		Revision int64 `query:"revision" required:"true"`
	}
	// Import takes a guitar file or a shop file.
	Import struct {
		Units
		RawBody []byte `contentType:"application/json"`
	}
	// Figure is the input of one calculation.
	Figure struct {
		RawBody []byte `contentType:"application/json"`
	}
)

// The replies that are not described elsewhere.
type (
	// Guitars is the shop's list.
	Guitars struct {
		Guitars []Summary `json:"guitars" doc:"newest change first"`
	}
	// CutReply is the next cut.
	CutReply struct {
		Revision int64 `json:"revision"`
		Cut      *Cut  `json:"cut" doc:"null until lean and point are known"`
		Say      struct {
			Do    string `json:"do"`
			Why   string `json:"why"`
			Doubt string `json:"doubt"`
		} `json:"say"`
	}
	// Undone is what an undo undid.
	Undone struct {
		Entry  LogEntry `json:"entry"`
		Guitar Guitar   `json:"guitar"`
	}
	// Removed names a guitar that was put away.
	Removed struct {
		ID      string `json:"id"`
		Name    string `json:"name"`
		Restore string `json:"restore" doc:"post here to take it back"`
	}
	// Imports says what became of each guitar of a file.
	Imports struct {
		Guitars []ImportedOne `json:"guitars"`
		Air     *AirAdded     `json:"air,omitempty" doc:"of the shop's air; left out when the file held none"`
	}
	// ImportedOne is one guitar of an imported file.
	ImportedOne struct {
		ID     string `json:"id"`
		Name   string `json:"name"`
		Result string `json:"result" enum:"added,skipped,restored,copied" doc:"skipped: the same guitar was there already; restored: it was there, put away, and is back; copied: a different one had its id, so it was kept beside it under a new one"`
		Was    string `json:"was" doc:"its id in the file"`
	}
	// Steps is every step with its fields.
	Steps struct {
		Steps []StepInfo `json:"steps"`
		Tools []ToolInfo `json:"tools"`
	}
	// StepInfo is one step.
	StepInfo struct {
		Step     string      `json:"step"`
		Name     string      `json:"name"`
		Question string      `json:"question"`
		ReadWith string      `json:"read_with"`
		How      []string    `json:"how"`
		Caution  string      `json:"caution"`
		Fields   []FieldInfo `json:"fields"`
	}
	// ToolInfo is one way of taking wood off.
	ToolInfo struct {
		Tool      string  `json:"tool"`
		Name      string  `json:"name"`
		PerStroke float64 `json:"per_stroke_mm" doc:"a stated guess until passes have been counted"`
		Caution   string  `json:"caution"`
	}
	// Designs is every starting design and the fields of both starts.
	Designs struct {
		Designs      []DesignInfo `json:"designs"`
		Fields       []FieldInfo  `json:"fields" doc:"of a design"`
		RepairFields []FieldInfo  `json:"repair_fields" doc:"of a start from readings"`
	}
	// DesignInfo is one starting design.
	DesignInfo struct {
		Design string  `json:"design"`
		Name   string  `json:"name"`
		About  string  `json:"about"`
		Values Figures `json:"values"`
	}
	// Topics is every calculation there is.
	Topics struct {
		Topics []TopicInfo `json:"topics"`
	}
	// TopicInfo is one calculation.
	TopicInfo struct {
		Topic   string `json:"topic"`
		Summary string `json:"summary"`
		Path    string `json:"path" doc:"post its input here"`
		Example any    `json:"example" doc:"a valid input"`
	}
)

func (s *server) routes() {
	add(s, access.Member, "GET", "/guitars", "Every guitar of the shop", s.list)
	add(s, access.Member, "POST", "/guitars", "Start a guitar from a design, or from readings alone", s.create, created)
	add(s, access.Member, "GET", "/guitars/{id}", "One guitar: target, how sure, steps, next cut, record", s.get)
	add(s, access.Member, "PATCH", "/guitars/{id}", "Give a guitar another name", s.rename)
	add(s, access.Member, "DELETE", "/guitars/{id}", "Put a guitar away; it can be taken back", s.remove)
	add(s, access.Member, "POST", "/guitars/{id}/restore", "Take a guitar back that was put away", s.restore)
	s.entryRoute()
	add(s, access.Member, "GET", "/guitars/{id}/cut", "The next cut, with the tool meant to be used", s.cut)
	s.strungRoutes()
	s.printRoutes()
	s.photoRoutes()
	s.climateRoutes()
	s.classRoutes()
	add(s, access.Member, "POST", "/guitars/{id}/undo", "Undo the last entry", s.undo)
	addFile(s, access.Member, "GET", "/guitars/{id}/export", "One guitar as a guitar file", fileSchema(), s.export)
	addFile(s, access.Member, "GET", "/export", "The whole shop as one file", fileSchema(), s.exportAll)
	s.addZip("/tables", "Everything as CSV tables in a zip, with the photos", shop.TablesName, s.shop.WriteTables)
	s.albumRoutes()
	add(s, access.Teacher, "POST", "/import", "Take in a guitar file or a shop file; nothing there is overwritten", s.take, func(op *huma.Operation) {
		op.MaxBodyBytes, op.SkipValidateBody = guitar.MaxFile, true // it is read by its own, stricter rules
		op.BodyReadTimeout = -1
	})
	s.takes("/import", fileSchema())
	addFile(s, access.Anyone, "GET", "/schema", "JSON Schema of the guitar file", &huma.Schema{Type: huma.TypeObject}, func(context.Context, *struct{}) (*file, error) {
		return &file{Body: guitar.Schema()}, nil
	})
	add(s, access.Anyone, "GET", "/steps", "Every step, its fields and their limits, and the tools", steps)
	add(s, access.Anyone, "GET", "/designs", "Starting designs, and the fields of a design and of a repair", designs)
	add(s, access.Anyone, "GET", "/figure", "The calculations there are", calculations)
	for _, t := range figure.Topics() {
		s.figure(t)
	}
	addFile(s, access.Anyone, "GET", "/openapi.json", "This document", &huma.Schema{Type: huma.TypeObject}, func(context.Context, *struct{}) (*file, error) {
		doc, err := s.document()
		return &file{Body: doc}, err
	})
}

// figure registers one calculation with the schemas of its own.
func (s *server) figure(t figure.Topic) {
	raw, err := figure.Schema(t.Name)
	if err != nil {
		panic(err) // a topic has a schema
	}
	var sch struct{ Input, Output json.RawMessage }
	if err := json.Unmarshal(raw, &sch); err != nil {
		panic(err)
	}
	addFile(s, access.Member, "POST", "/figure/"+t.Name, t.Summary, object(sch.Output), func(_ context.Context, in *Figure) (*file, error) {
		out, err := figure.Run(t.Name, in.RawBody)
		return &file{Body: out}, err
	}, func(op *huma.Operation) {
		op.MaxBodyBytes, op.SkipValidateBody = figure.MostBytes, true // it is read by its own, stricter rules
	})
	s.takes("/figure/"+t.Name, object(sch.Input))
}

// takes documents the body of a route that reads it raw. The library describes a raw body as text whatever
// it was told, so this is put right after the route is there.
func (s *server) takes(path string, schema *huma.Schema) {
	op := s.api.OpenAPI().Paths[Prefix+path].Post
	op.RequestBody = &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{"application/json": {Schema: schema}}}
}

func (s *server) list(ctx context.Context, in *struct{ Units }) (out Guitars, err error) {
	vs, err := s.shop.Guitars(ctx)
	out.Guitars = []Summary{}
	for _, v := range vs {
		out.Guitars = append(out.Guitars, Summarise(v, s.style(ctx, in.Units)))
	}
	return out, err
}

func (s *server) create(ctx context.Context, in *NewGuitar) (Guitar, error) {
	style := s.style(ctx, in.Units)
	b := in.Body
	fields := guitar.DesignFields()
	if guitar.Start(b.Start) == guitar.FromReadings {
		fields = guitar.RepairFields()
	}
	texts, err := b.Values.Texts(fields)
	if err != nil {
		return Guitar{}, err
	}
	var v shop.View
	if guitar.Start(b.Start) == guitar.FromReadings {
		if b.Design != "" {
			return Guitar{}, refuse("design", unit.Say("leave it out"), "a repair starts from readings, so it has no starting design")
		}
		v, err = s.shop.NewRepair(ctx, b.Name, texts, style)
	} else {
		v, err = s.shop.NewFromDesign(ctx, b.Name, b.Design, texts, style)
	}
	return s.described(v, err, style)
}

func (s *server) described(v shop.View, err error, style unit.Style) (Guitar, error) {
	if err != nil {
		return Guitar{}, err
	}
	return Describe(v, style), nil
}

func (s *server) get(ctx context.Context, in *One) (Guitar, error) {
	v, err := s.shop.Guitar(ctx, in.ID)
	return s.described(v, err, s.style(ctx, in.Units))
}

func checkStep(step guitar.Step) error {
	keys := []string{string(guitar.StepDesign)}
	for _, g := range guitar.Guides() {
		keys = append(keys, string(g.Step))
	}
	if slices.Contains(keys, string(step)) {
		return nil
	}
	return refuse("step", unit.Plain(strings.Join(keys, ", ")), "there is no step %q", clip(string(step)))
}

func (s *server) cut(ctx context.Context, in *AskCut) (out CutReply, err error) {
	if in.Tool != "" {
		if _, ok := neckset.FindTool(in.Tool); !ok {
			var keys []string
			for _, t := range neckset.Tools() {
				keys = append(keys, t.Key)
			}
			return out, refuse("tool", unit.Plain(strings.Join(keys, ", ")), "there is no tool %q", clip(in.Tool))
		}
	}
	v, err := s.shop.GuitarWith(ctx, in.ID, in.Tool, in.Judged)
	if err != nil {
		return out, err
	}
	style := s.style(ctx, in.Units)
	out.Revision, out.Cut = v.Revision, DescribeCut(v.Bench, style)
	a := v.Bench.Step(guitar.StepCut).Advice
	out.Say.Do, out.Say.Why, out.Say.Doubt = a.Do.In(style), a.Why.In(style), a.Doubt.In(style)
	return out, nil
}

func (s *server) undo(ctx context.Context, in *Based) (out Undone, err error) {
	v, err := s.shop.Guitar(ctx, in.ID)
	if err != nil {
		return out, err
	}
	v, e, err := s.shop.Undo(ctx, v.Guitar.ID, in.Body.Revision)
	if err != nil {
		return out, err
	}
	return Undone{Entries(v.Guitar, []guitar.Entry{e})[0], Describe(v, s.style(ctx, in.Units))}, nil
}

func (s *server) rename(ctx context.Context, in *Rename) (Guitar, error) {
	v, err := s.shop.Guitar(ctx, in.ID)
	if err != nil {
		return Guitar{}, err
	}
	v, err = s.shop.Rename(ctx, v.Guitar.ID, in.Body.Revision, in.Body.Name)
	return s.described(v, err, s.style(ctx, in.Units))
}

func (s *server) remove(ctx context.Context, in *Remove) (out Removed, err error) {
	v, err := s.shop.Guitar(ctx, in.ID)
	if err != nil {
		return out, err
	}
	if _, err := s.shop.Remove(ctx, v.Guitar.ID, in.Revision); err != nil {
		return out, err
	}
	return Removed{v.Guitar.ID, v.Guitar.Name, Prefix + "/guitars/" + v.Guitar.ID + "/restore"}, nil
}

func (s *server) restore(ctx context.Context, in *One) (Guitar, error) {
	v, err := s.shop.Restore(ctx, in.ID)
	return s.described(v, err, s.style(ctx, in.Units))
}

func (s *server) export(ctx context.Context, in *One) (*file, error) {
	v, err := s.shop.Guitar(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	data, err := s.shop.Export(ctx, v.Guitar.ID)
	return &file{Disposition: `attachment; filename="` + v.Guitar.ID + `.json"`, Body: data}, err
}

func (s *server) exportAll(ctx context.Context, _ *struct{ Spoken }) (*file, error) {
	data, err := s.shop.ExportAll(ctx)
	return &file{Disposition: `attachment; filename="shop.json"`, Body: data}, err
}

// addZip registers a route that gives a zip. It is written to a file without a name first: with photos it may be large, and
// a failure is a refusal and not half a zip.
func (s *server) addZip(path, summary, called string, make func(context.Context, io.Writer) error) {
	op := huma.Operation{Method: http.MethodGet, Path: Prefix + path, Summary: summary, OperationID: name(http.MethodGet, path)}
	s.guard(&op, access.Member)
	op.Responses = map[string]*huma.Response{"200": {Description: "OK", Content: map[string]*huma.MediaType{"application/zip": {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}}}}}
	huma.Register(s.api, op, func(ctx context.Context, in *struct{ Spoken }) (*huma.StreamResponse, error) {
		f, err := place.Scratch("")
		if err != nil {
			return nil, s.said(ctx, in, err)
		}
		var size int64
		if err = f.Why(make(ctx, f)); err == nil {
			size, err = f.Seek(0, io.SeekCurrent)
		}
		if err != nil {
			_ = f.Close()
			return nil, s.said(ctx, in, err)
		}
		return &huma.StreamResponse{Body: func(out huma.Context) {
			defer func() { _ = f.Close() }()
			out.SetHeader("Content-Type", "application/zip")
			out.SetHeader("Content-Disposition", `attachment; filename="`+called+`"`)
			out.SetHeader("Content-Length", strconv.FormatInt(size, 10))
			_, _ = io.Copy(out.BodyWriter(), io.NewSectionReader(f.File, 0, size))
		}}, nil
	})
}

func (s *server) take(ctx context.Context, in *Import) (Imports, error) {
	got, err := s.shop.Import(ctx, in.RawBody)
	return importsOf(got), err
}

func importsOf(got shop.Taken) Imports {
	out := Imports{Guitars: []ImportedOne{}}
	if got.HadAir {
		out.Air = &AirAdded{Added: got.Air.Added, Same: got.Air.Same, Differ: []Air{}}
		for _, r := range got.Air.Differ {
			out.Air.Differ = append(out.Air.Differ, airOf(r))
		}
	}
	for _, i := range got.Guitars {
		out.Guitars = append(out.Guitars, ImportedOne{i.Record.Guitar.ID, i.Record.Guitar.Name, string(i.Outcome), i.Was})
	}
	return out
}

func steps(_ context.Context, in *struct{ Spoken }) (out Steps, err error) {
	s := in.style()
	for _, g := range guitar.Guides() {
		out.Steps = append(out.Steps, StepInfo{string(g.Step), g.Name.In(s), g.Question.In(s), g.ReadWith.In(s), unit.Each(g.How, s), g.Caution.In(s), describeFields(g.Fields, s)})
	}
	for _, t := range neckset.Tools() {
		out.Tools = append(out.Tools, ToolInfo{t.Key, t.Name.In(s), t.PerStroke.MM(), t.Caution.In(s)})
	}
	return out, nil
}

func designs(_ context.Context, in *struct{ Spoken }) (out Designs, err error) {
	s := in.style()
	for _, b := range guitar.Bases() {
		v, _ := figures(guitar.DesignFields(), b.Values)
		out.Designs = append(out.Designs, DesignInfo{b.Key, b.Name.In(s), b.About.In(s), v})
	}
	out.Fields, out.RepairFields = describeFields(guitar.DesignFields(), s), describeFields(guitar.RepairFields(), s)
	return out, nil
}

func calculations(context.Context, *struct{}) (out Topics, err error) {
	for _, t := range figure.Topics() {
		raw, err := figure.Example(t.Name)
		if err != nil {
			return out, err
		}
		var example any
		if err := json.Unmarshal(raw, &example); err != nil {
			return out, err
		}
		out.Topics = append(out.Topics, TopicInfo{t.Name, t.Summary, Prefix + "/figure/" + t.Name, example})
	}
	return out, nil
}
