package markup

import (
	"errors"
	"go/ast"
	"go/parser"
	gotoken "go/token"
	"html"
	"html/template"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	texttemplate "text/template"

	"pgregory.net/rapid"
)

func unescaped(s string) string { return html.UnescapeString(s) }

const pages = "../../internal/web/templates"

func sources(t testing.TB) map[string]string {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(pages, "*.html"))
	if err != nil || len(names) == 0 {
		t.Fatalf("no page templates in %s: %v", pages, err)
	}
	out := map[string]string{}
	for _, name := range names {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(name)] = string(b)
	}
	return out
}

// pageFuncs has a stand-in for each function the pages' templates may call.
func pageFuncs(t testing.TB) template.FuncMap {
	t.Helper()
	file, err := parser.ParseFile(gotoken.NewFileSet(), "../../internal/web/view.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	stub := func(...any) string { return "" }
	out := template.FuncMap{"text": stub}
	ast.Inspect(file, func(n ast.Node) bool {
		if f, ok := n.(*ast.FuncDecl); ok && f.Name.Name != "funcs" {
			return false
		}
		if kv, ok := n.(*ast.KeyValueExpr); ok {
			if key, ok := kv.Key.(*ast.BasicLit); ok && key.Kind == gotoken.STRING {
				name, err := strconv.Unquote(key.Value)
				if err != nil {
					t.Fatal(err)
				}
				out[name] = stub
			}
		}
		return true
	})
	if out["say"] == nil {
		t.Fatal("the templates' functions were not found")
	}
	return out
}

func TestPagesInEnglishStayAsTheyAre(t *testing.T) {
	for name, src := range sources(t) {
		got, err := Translate(src, itself)
		if err != nil || got != src {
			t.Errorf("%s is not the same, %v", name, err)
		}
	}
}

func TestPagesCanBePutInOtherWords(t *testing.T) {
	funcs := pageFuncs(t)
	marked := 0
	for name, src := range sources(t) {
		got, err := Translate(src, pseudo)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		marked += strings.Count(got, "⟦")
		if loose(got) != loose(src) {
			t.Errorf("%s says something else without its marks", name)
		}
		if len(Messages(src)) > 0 && !strings.Contains(got, "⟦") {
			t.Errorf("%s has texts, and none was marked", name)
		}
		if _, err := template.New(name).Funcs(funcs).Parse(got); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		for _, id := range Messages(src) {
			if err := Check(id, id); err != nil {
				t.Errorf("%s: %q as its own translation: %v", name, id, err)
			}
		}
	}
	if marked < 300 {
		t.Errorf("only %d texts were found in all pages", marked)
	}
}

// html/template looks at the contexts of a page only when it is first executed: a page whose words broke a tag fails here, before
// it misses its data.
func TestPagesInOtherWordsAreStillSafe(t *testing.T) {
	funcs := pageFuncs(t)
	all := sources(t)
	whole := 0
	for name := range all {
		for _, words := range []func(string) (string, bool){itself, pseudo} {
			page := template.New(name).Funcs(funcs)
			for _, file := range []string{"layout.html", "parts.html", name} {
				src, err := Translate(all[file], words)
				if err != nil {
					t.Fatal(err)
				}
				if _, err := page.Parse(src); err != nil {
					t.Fatal(err)
				}
			}
			if page.Lookup("main") == nil {
				continue
			}
			whole++
			var unsafe *template.Error
			if err := page.ExecuteTemplate(io.Discard, "layout", nil); errors.As(err, &unsafe) {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
	if whole < 50 {
		t.Errorf("only %d pages were tried", whole)
	}
}

func TestAPageInOtherWordsIsEscapedAlike(t *testing.T) {
	const src = `<!doctype html><p title="About {{.A}}" class={{.A}}>See <a href="/x?q={{.A}}" title='of {{.A}}'>the {{.A}} page</a> of {{.A}}.<br>
{{if .A}}<input type=submit value="Go {{.A}}">{{end}}<script>var a = {{.A}} /* of */</script><textarea>Of {{.A}}</textarea>`
	got, err := Translate(src, func(id string) (string, bool) { return `"'>&` + id + `"'>&`, true })
	if err != nil {
		t.Fatal(err)
	}
	data := map[string]string{"A": `<i title="x">'`}
	run := func(src string) string {
		page, err := template.New("").Parse(src)
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		if err := page.Execute(&b, data); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	plain := strings.NewReplacer("&#34;&#39;&gt;&amp;", "", `"'&gt;&amp;`, "").Replace(run(got))
	if want := run(src); plain != want {
		t.Errorf("got\n%s\nwant\n%s", plain, want)
	}
}

// Pieces of templates that can be executed, in any order, mostly balanced.
func drawSource(t *rapid.T, depth int) string {
	var b strings.Builder
	for range rapid.IntRange(0, 6).Draw(t, "pieces") {
		piece := rapid.SampledFrom([]string{
			"word", " ", "\n", "a b", "12", ".", "&amp;", "&nbsp;", "&lt;", "&#123;", "<{{.A}}", " < 3", "{1}", ">", "}", "é",
			"{{.A}}", "{{- .A}}", "{{.B -}}", "{{- .B -}}", "{{`}}`}}", `{{"\"}}"}}`, "{{$x := .A}}", "{{/* word }} */}}", "{{- /* w */ -}}", "{{text \"w\"}}",
			"<br>", "<wbr/>", "<img alt='x'>", "<!-- w {{.A}} -->", "<script>a < b && '{{.A}}'</script>", "</b>", "<i>",
			"IF", "RANGE", "TAG", "TAG", "ATTR", "PRE",
		}).Draw(t, "piece")
		inner := ""
		if depth > 0 && strings.ToUpper(piece) == piece && len(piece) > 1 {
			inner = drawSource(t, depth-1)
		}
		switch piece {
		case "IF":
			piece = "{{if .Yes -}}" + inner + "{{- else}}no{{end}}"
		case "RANGE":
			piece = "{{range .List}}" + inner + "{{end}}"
		case "TAG":
			name := rapid.SampledFrom([]string{"a", "b", "span", "p", "td", "title", "textarea"}).Draw(t, "tag")
			piece = "<" + name + ` title="see {{.A}}">` + inner + "</" + name + ">"
		case "ATTR":
			piece = `<em {{if .Yes}}alt='it "is" {{.A}}'{{end}} title=word>w</em>`
		case "PRE":
			piece = "<pre>" + inner + "\nw {{.A}}\n</pre>"
		}
		b.WriteString(piece)
	}
	return b.String()
}

func executed(t rapid.TB, src string) (string, bool) {
	page, err := texttemplate.New("").Funcs(texttemplate.FuncMap{"text": func(s string) string { return s }}).Parse(src)
	if err != nil {
		return "", false
	}
	var b strings.Builder
	data := map[string]any{"A": "Anna", "B": 3, "Yes": true, "List": []int{1, 2}}
	if err := page.Execute(&b, data); err != nil {
		return "", false
	}
	return b.String(), true
}

// Whatever a template is made of, its English words leave it as it is, and marked ones change nothing but the marks
// in what it writes.
func TestWordsChangeNothingElse(t *testing.T) {
	ran := 0
	rapid.Check(t, func(t *rapid.T) {
		src := drawSource(t, 3)
		same, err := Translate(src, itself)
		if err != nil {
			t.Fatalf("%q: %v", src, err)
		}
		if same != src {
			t.Fatalf("got %q\nwant %q", same, src)
		}
		for _, id := range Messages(src) {
			if err := Check(id, id); err != nil {
				t.Fatalf("%q in %q: %v", id, src, err)
			}
		}
		got, err := Translate(src, pseudo)
		if err != nil {
			t.Fatalf("%q: %v", src, err)
		}
		want, ok := executed(t, src)
		if !ok {
			return
		}
		ran++
		wrote, ok := executed(t, got)
		if !ok {
			t.Fatalf("%q became %q, which is no template", src, got)
		}
		// An unquoted value is put in quotes.
		wrote = strings.ReplaceAll(wrote, `title="⟦word⟧"`, "title=word")
		if loose(wrote) != loose(want) {
			t.Fatalf("%q became %q\nwhich writes %q\nand not %q", src, got, loose(wrote), loose(want))
		}
	})
	if ran < 10 {
		t.Errorf("only %d of the templates could be executed", ran)
	}
}

func FuzzTranslate(f *testing.F) {
	for _, src := range sources(f) {
		f.Add(src)
	}
	for _, src := range []string{
		`<p title="{{if .X}}a > {{.B}}{{else}}c{{end}} d" alt=x{{.Y}}>e <b>f</b> {{- .G -}} <br></p>`,
		"<pre>a\nb</pre><textarea>c</textarea><script>{{`</script>`}}</script><!-- {{/* x */}} -->",
		"{{text `a` \"b\"}} &lt;1&gt; {1} &amp;&#123; <", "<p title={{if .X}}\"a\"{{end}}>", "<p {{", "<!--", "</", "{{\"", "<a =\"x\">",
	} {
		f.Add(src)
	}
	f.Fuzz(func(t *testing.T, src string) {
		ids := Messages(src)
		same, err := Translate(src, itself)
		if err != nil {
			return
		}
		if same != src {
			t.Fatalf("got %q\nwant %q", same, src)
		}
		asked := map[string]bool{}
		if _, err := Translate(src, func(id string) (string, bool) {
			if err := Check(id, id); err != nil {
				t.Fatalf("%q: %v", id, err)
			}
			asked[id] = true
			return pseudo(id)
		}); err != nil {
			t.Fatalf("%q: %v", src, err)
		}
		listed := map[string]bool{}
		for _, id := range ids {
			if listed[id] {
				t.Fatalf("%q is listed twice", id)
			}
			listed[id] = true
		}
		for id := range asked {
			if !listed[id] {
				t.Fatalf("%q was asked for and not listed", id)
			}
		}
	})
}

func BenchmarkTranslate(b *testing.B) {
	all := sources(b)
	for b.Loop() {
		for _, src := range all {
			if _, err := Translate(src, pseudo); err != nil {
				b.Fatal(err)
			}
		}
	}
}
