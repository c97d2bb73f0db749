package guitar

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

var schemaPath = filepath.Join("..", "..", "docs", "schema", "guitar-1.schema.json")

func TestPublishedSchemaIsCurrent(t *testing.T) {
	if *update {
		if err := os.MkdirAll(filepath.Dir(schemaPath), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(schemaPath, Schema(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(schemaPath)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, Schema()) {
		t.Errorf("%s is not what the field tables say; rewrite it with: go test ./craft/guitar -run Schema -update", schemaPath)
	}
}

func compiled(t testing.TB) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	c.AssertFormat()
	if err := c.AddResource(SchemaID, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(SchemaID)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func valid(t testing.TB, s *jsonschema.Schema, data []byte) error {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return s.Validate(doc)
}

func TestWhatIsWrittenFollowsTheSchema(t *testing.T) {
	s := compiled(t)
	var all []Guitar
	for _, b := range Bases() {
		g, err := New(b.Key, b.Key, nil)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, g)
	}
	all = append(all, sample(t), repairSample(t))
	for _, g := range all {
		if err := valid(t, s, Encode(g)); err != nil {
			t.Errorf("%s: %v", g.Name, err)
		}
	}
	if err := valid(t, s, EncodeShop(all)); err != nil {
		t.Errorf("shop: %v", err)
	}
	if err := valid(t, s, EncodeShop(nil)); err != nil {
		t.Errorf("empty shop: %v", err)
	}
}

// Schema and Decode must agree on every file that differs from a good one in one place: each member left
// out, renamed, made a number, a text, a list, a true.
func TestSchemaAndDecodeAgree(t *testing.T) {
	s := compiled(t)
	short := sample(t)
	short.Log = slices.DeleteFunc(slices.Clone(short.Log), func(e Entry) bool {
		return !slices.Contains([]Step{StepPoint, StepCut, StepDesign, StepNote}, e.Step)
	})
	for i := range short.Log {
		short.Log[i].Seq = i + 1
	}
	for _, g := range []Guitar{short, repairSample(t)} {
		var doc any
		if err := json.Unmarshal(Encode(g), &doc); err != nil {
			t.Fatal(err)
		}
		tried := 0
		eachChange(doc, "", func(where string) {
			data, err := json.Marshal(doc)
			if err != nil {
				t.Fatal(err)
			}
			_, fromDecode := Decode(data)
			fromSchema := valid(t, s, data)
			tried++
			if (fromDecode == nil) != (fromSchema == nil) {
				t.Errorf("%s: Decode says %v, the schema says %v", where, fromDecode, fromSchema)
			}
		})
		if tried < 300 {
			t.Errorf("only %d changes tried", tried)
		}
	}
}

// eachChange makes one change at a time in doc, calls do, and takes it back. Figures with a typed text beside
// them are left as they are: that the two agree is Decode's alone to check.
func eachChange(doc any, where string, do func(where string)) {
	switch v := doc.(type) {
	case map[string]any:
		_, typed := v["typed"]
		for _, key := range slices.Sorted(maps.Keys(v)) {
			old := v[key]
			at := where + "." + key
			if key == "plan" || key == "undone" || key == "id" || key == "basis" || key == "bench" || key == "seq" || key == "name" || key == "start" || !typed {
				for _, x := range []any{"?", true, []any{}, map[string]any{}, nil, -1e6} {
					if key == "bench" && x == "?" || key == "name" && x == "?" {
						continue
					}
					v[key] = x
					do(fmt.Sprintf("%s = %v", at, x))
				}
				v[key] = old
			}
			if key != "typed" || len(v) == 1 {
				delete(v, key)
				do(at + " left out")
			}
			v[key+"_x"] = old
			v[key] = old
			do(at + " given once more under another name")
			delete(v, key+"_x")
			eachChange(old, at, do)
		}
	case []any:
		for i, x := range v {
			eachChange(x, fmt.Sprintf("%s[%d]", where, i), do)
		}
	}
}
