package markup

import (
	"slices"
	"strings"
	"testing"
)

func pseudo(id string) (string, bool) { return "⟦" + id + "⟧", true }

func itself(id string) (string, bool) { return id, true }

func TestMessages(t *testing.T) {
	for _, c := range []struct {
		name, src string
		want      []string
	}{
		{"nothing", "", nil},
		{"words", "Skip to the page", []string{"Skip to the page"}},
		{"white space", "<p>\n  Two\n\tlines  </p>", []string{"Two lines"}},
		{"no letters", "<p>{{.A}} · {{.B}}, 12 %</p>", nil},
		{"each once", "<p>Name</p><p>Name</p>", []string{"Name"}},
		{"a tag that ends a run", "<p>One</p><li>Two<div>Three", []string{"One", "Two", "Three"}},
		{"capitals", "<P>One</P>two <B>three</B>", []string{"One", "two <1>three</1>"}},
		{"image", `A <img src="x"> B`, []string{"A", "B"}},

		{"values", "{{.Name}}, {{say .Do}} again {{.Name}}", []string{"{1}, {2} again {3}"}},
		{"values at the ends stay", "<p>{{.N}} of {{.Of}}</p>", []string{"{1} of {2}"}},
		{"braces in strings", "a {{f \"}}\" `}}` '}' \"\\\"}}\"}} b", []string{"a {1} b"}},
		{"steering", "a{{if .X}}b{{else if .Y}}c{{else}}d{{end}}e", []string{"a", "b", "c", "d", "e"}},
		{"more steering", `{{range .X}}a{{break}}b{{continue}}c{{end}}{{with .Y}}d{{end}}{{template "x" .}}e{{block "y" .}}f{{end}}{{define "z"}}g{{end}}`,
			[]string{"a", "b", "c", "d", "e", "f", "g"}},
		{"a name like a steering word", "a {{ifs .X}} b {{.end}} c", []string{"a {1} b {2} c"}},
		{"assignments", "a {{$x := .Y}} b {{ $x=3 }} c {{$x}} d", []string{"a", "b", "c {1} d"}},
		{"comment action", "a {{/* no }} word */}} b {{- /* nor */ -}} c", []string{"a", "b", "c"}},
		{"comment", "a <!-- no <b> {{\"-->\"}} word --> b", []string{"a", "b"}},
		{"doctype", "<!doctype html>\na", []string{"a"}},
		{"trim markers", "a {{- .X -}} b {{.Y -}}\n{{- .Z}} c", []string{"a{1}b {2}{3} c"}},
		{"a negative number trims nothing", "a {{-3}} b", []string{"a {1} b"}},

		{"inline tags", `a <strong class="x">b</strong> <em>c <kbd>d</kbd></em>`, []string{"a <1>b</1> <2>c <3>d</3></2>"}},
		{"void tags", "a<br>b <wbr/>c<b>d</b>", []string{"a<1/>b <2/>c<3>d</3>"}},
		{"a tag around it all", `<p><a href="{{.X}}"> <b>Words {{.Y}}</b> </a></p>`, []string{"Words {1}"}},
		{"not around it all", "<b>a</b> b <b>c</b>", []string{"<1>a</1> b <2>c</2>"}},
		{"tags with nothing at the ends", `<span class="x"></span> <i>·</i> Words <b>!</b><br>`, []string{"Words"}},
		{"tags with a value at the ends stay", "<b>{{.N}}</b> words <b>3</b>", []string{"<1>{1}</1> words <2>3</2>"}},
		{"lines of values at the ends", "<b>{{.A}}</b><br>{{.B}}<br/><i>made {{.C}}</i><br>{{.D}}, {{.E}}", []string{"made {1}"}},
		{"lines of words", "{{.A}} a<br>{{.B}}<br>b", []string{"{1} a<1/>{2}<2/>b"}},
		{"a line within a tag", "<b>{{.A}}<br>{{.B}}</b> a", []string{"<1>{1}<2/>{2}</1> a"}},
		{"punctuation stays", "(<b>a</b>).", []string{"(<1>a</1>)."}},
		{"closed elsewhere", "a <b>b {{if .X}}c</b>{{end}} d", []string{"a", "b", "c", "d"}},
		{"opened elsewhere", "a</b> b <i>c</i>", []string{"a", "b <1>c</1>"}},
		{"crossed", "<b>a <i>b</b> c</i>", []string{"a", "b", "c"}},
		{"steering in a tag", `a <a href="x"{{if .X}} class="y>"{{end}}>b</a>`, []string{"a <1>b</1>"}},
		{"a row of links", `<a href="x">Air</a> <a href="y">Shop {{.N}}</a><br><a href="z">{{.Z}}</a>`, []string{"Air", "Shop {1}"}},
		{"links with words between", `<a href="x">Air</a> or <a href="y">Shop</a>`, []string{"<1>Air</1> or <2>Shop</2>"}},

		{"entities", "Q &amp; A &#8211; 3&nbsp;mm &quot;&copy;", []string{"Q & A – 3\u00a0mm \"©"}},
		{"what looks like markup", "a &lt; b < 3 {1} &#123;&#123; c > d", []string{"a {1} b {2} 3 {3}1} {4}{5} c > d"}},
		{"a < before an action", "a <{{.X}} b", []string{"a {1}{2} b"}},
		{"white space as an entity", "a&#10;b", []string{"a{1}b"}},

		{"script and style", `a<script>var a = "</b>{{.X}}";</script>b<STYLE x="y">p{}</Style >c`, []string{"a", "b", "c"}},
		{"a script without end", "a<script>b", []string{"a"}},
		{"title", "<title>a <b> {{.X}}</title>c", []string{"a {1}b> {2}", "c"}},
		{"lines that count", "<pre>a\n b <b>c</b>\n</pre><textarea>d\ne</textarea>f\ng", []string{"a", "b <1>c</1>", "d", "e", "f g"}},

		{"attributes", `<p aria-label="A" aria-description='B' title=C data-say-x="D" data-text="E" class="no" id="no" data-x="no" hidden>F</p>`,
			[]string{"A", "B", "C", "D", "E", "F"}},
		{"more attributes", `<img ALT="Where {{lower .X}} is" src="no"><input placeholder="B" value="no"><label label="no"><optgroup label="C"></optgroup></label>`,
			[]string{"Where {1} is", "B", "C"}},
		{"meta", `<meta name="viewport" content="no"><meta content="Yes" name="description">`, []string{"Yes"}},
		{"buttons", `<input type="submit" value="A"><input value="B" type="button"><input type="text" value="no"><button value="no">C</button>`,
			[]string{"A", "B", "C"}},
		{"steering in an attribute", `<p title="{{if .X}}a > {{.B}}{{else}}c{{end}} d">e</p>`, []string{"a > {1}", "c", "d", "e"}},
		{"entities in an attribute", `<p title="a &quot;b&quot; &lt;c&gt;">`, []string{`a "b" {1}c>`}},
		{"steering around an attribute", `<p {{if .X}}title="a"{{else}}hidden{{end}} alt{{if .Y}}="b"{{end}}>c`, []string{"a", "c"}},
		{"steering before a value", `<p title={{if .X}}"a>"{{else}}b{{end}} alt="c">d`, []string{"c", "d"}},
		{"attributes of a tag within a text", `a <abbr title="c">b</abbr>`, []string{"a <1>b</1>", "c"}},
		{"in the order they begin", `<p title="1st">2nd</p><p title="3rd">`, []string{"1st", "2nd", "3rd"}},

		{"text", `{{text "A  b"}}<a href="{{text ` + "`C\"`" + `}}">{{or .X (text "D %d" 3) | text "E"}}</a>{{if text "F"}}{{end}}`, []string{"A  b", `C"`, "D %d", "E", "F"}},
		{"text in script", `<script>{{text "A"}}</script>`, []string{"A"}},
		{"no text", `{{.text "a"}}{{text .X}}{{text ""}}{{texts "b"}}{{"text" "c"}}{{/* text "d" */}}`, nil},
		{"up to what is broken", `<p>a</p><p title="b>`, []string{"a"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Messages(c.src)
			if !slices.Equal(got, c.want) {
				t.Errorf("%s\n got %q\nwant %q", c.src, got, c.want)
			}
			if c.name == "up to what is broken" {
				return
			}
			same, err := Translate(c.src, itself)
			if err != nil || same != c.src {
				t.Errorf("with the English words: %q, %v\nwant %q", same, err, c.src)
			}
		})
	}
}

func TestTranslate(t *testing.T) {
	for _, c := range []struct {
		name, src string
		words     map[string]string
		want      string
	}{
		{"words", "<p>\n Air  </p>", map[string]string{"Air": " Luft "}, "<p>\n Luft  </p>"},
		{"none", "<p>Air</p>", map[string]string{"Air": ""}, "<p>Air</p>"},
		{"another order", "{{.A}} of {{say .B}}", map[string]string{"{1} of {2}": "von {2} {1}, {2}"}, "von {{say .B}} {{.A}}, {{say .B}}"},
		{"tags keep their attributes", `See <a href="{{.U}}" class="x">the <b>page</b></a>.`,
			map[string]string{"See <1>the <2>page</2></1>.": "<1><2>Seite</2> zeigen</1>"}, `<a href="{{.U}}" class="x"><b>Seite</b> zeigen</a>`},
		{"void", "a<br>b", map[string]string{"a<1/>b": "B<1/>A"}, "B<br>A"},
		{"escaped", "<p title='a'>a</p>", map[string]string{"a": "\"x\" & 'y' > z\u00a0&amp;"},
			`<p title='&#34;x&#34; &amp; &#39;y&#39; &gt; z&nbsp;&amp;amp;'>"x" &amp; 'y' &gt; z&nbsp;&amp;amp;</p>`},
		{"an unquoted value gets quotes", "<p title=a{{.X}} id=b>", map[string]string{"a{1}": "ein {1} x"}, `<p title="ein {{.X}} x" id=b>`},
		{"attribute within a text", `a <abbr title="c">b</abbr>`, map[string]string{"a <1>b</1>": "<1>B</1> A", "c": "C"}, `<abbr title="C">B</abbr> A`},
		{"attribute of a text that stays", `a <abbr title="c">b</abbr>`, map[string]string{"c": "C"}, `a <abbr title="C">b</abbr>`},
		{"peeled tags stay", "<b> <i></i> a </b>", map[string]string{"a": "A"}, "<b> <i></i> A </b>"},
		{"literal <", "a &lt; b < c", map[string]string{"a {1} b {2} c": "c{2}b {1} a"}, "c&#60;b &#60; a"},
		{"trim markers", "<i></i> \n {{- .X -}} a {{- .Y -}} \n <i></i>", map[string]string{"{1}a{2}": "{2} A {1}"}, "<i></i>{{.Y}} A {{.X}}<i></i>"},
		{"a trim marker outside stays", "{{if .X -}} a {{- end}}", map[string]string{"a": "A"}, "{{if .X -}} A {{- end}}"},
		{"lines that count", "<pre> a\n  b</pre>", map[string]string{"a": "A", "b": "B"}, "<pre> A\n  B</pre>"},
		{"a string in an action stays", `{{text "a"}} <p>{{template "x" "a"}}`, map[string]string{"a": "A"}, `{{text "a"}} <p>{{template "x" "a"}}`},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := Translate(c.src, func(id string) (string, bool) { w, ok := c.words[id]; return w, ok })
			if err != nil || got != c.want {
				t.Errorf("%s\n got %s, %v\nwant %s", c.src, got, err, c.want)
			}
		})
	}
}

func TestTranslateTellsWhatIsBroken(t *testing.T) {
	for _, c := range []struct{ src, want string }{
		{"a\n{{.X", "line 2: this action does not end"},
		{"a\n\n{{/* x }}", "line 3: this comment does not end"},
		{`{{"x}}`, "line 1: this string does not end"},
		{"{{\"x\n\"}}", "line 1: this string does not end"},
		{"<p class=", "line 1: this tag does not end"},
		{"<p\nclass=\"a>", "line 2: this quote does not end"},
		{"<p {{if .X}}", "line 1: this tag does not end"},
		{"<p>wrong</p>", `"{1}" for "wrong": the translation has {1}, which the English does not have`},
		{`<p title="wrong">`, `"{1}" for "wrong": the translation has {1}, which the English does not have`},
	} {
		got, err := Translate(c.src, func(id string) (string, bool) { return "{1}", id == "wrong" })
		if err == nil || err.Error() != c.want || got != "" {
			t.Errorf("%q: got %q, %v; want %s", c.src, got, err, c.want)
		}
	}
}

func TestCheck(t *testing.T) {
	for _, c := range []struct{ id, translation, want string }{
		{"a", "b", ""},
		{"a > b", "b > a } \" & '", ""},
		{"{1} of {2}", "{2}: {1}, {2}", ""},
		{"<1>a <2>b</2></1><3/>", "<3/><1><2>B</2></1>", ""},
		{"<1>a</1> <2>b</2>", "<2>b</2> <1>a</1>", ""},
		{"a <1>b<2/></1>", "b<2/> <1>a</1>", ""},
		{"<1>{1}</1> a", "{1}: <1>a</1>", ""},
		{"{1}{2}{3}{4}{5}{6}{7}{8}{9}{10} a", "a {10}{9}{8}{7}{6}{5}{4}{3}{2}{1}", ""},

		{"a", "", "the translation is empty"},
		{"a", " \n", "the translation is empty"},
		{"a", "a\xff", "the translation is not UTF-8"},
		{"a", "a\nb", "the translation has the control character U+000A"},
		{"{1} of {2}", "{1}", "the translation lacks {2}"},
		{"a", "a {1}", "the translation has {1}, which the English does not have"},
		{"a", "{{.X}}", "the translation has {{, which would begin an action"},
		{"{1}", "{{1}", "the translation has {{, which would begin an action"},
		{"{1}", "{1} {", "the translation has a { that begins no placeholder such as {1}"},
		{"{1}", "{01}", "the translation has a { that begins no placeholder such as {1}"},
		{"{1}", "{+1}", "the translation has a { that begins no placeholder such as {1}"},
		{"{1}", "{-1}", "the translation has a { that begins no placeholder such as {1}"},
		{"a", "a <b>b</b>", "the translation has a < that begins no numbered tag such as <1>"},
		{"a", "a < b", "the translation has a < that begins no numbered tag such as <1>"},
		{"a", "a <", "the translation has a < that begins no numbered tag such as <1>"},
		{"<1>a</1>", "<1 x>a</1>", "the translation has a < that begins no numbered tag such as <1>"},
		{"<1>a</1>", "<1>a", "the translation does not close <1>"},
		{"<1>a</1>", "a</1>", "the translation has </1> where it closes nothing"},
		{"<1>a</1>", "</1>a<1>", "the translation has </1> where it closes nothing"},
		{"<1>a</1> <2>b</2>", "<1>a <2>b</1></2>", "the translation has </1> where it closes nothing"},
		{"<1>a</1>", "a", "the translation lacks <1>"},
		{"<1>a</1>", "<1>a</1><1>b</1>", "the translation has <1> 2 times"},
		{"a<1/>b", "a<1/>b<1/>", "the translation has <1/> 2 times"},
		{"a<1/>b", "ab", "the translation lacks <1/>"},
		{"a<1/>b", "<1>ab</1>", "the translation has <1>, which the English does not have"},
		{"<1>a</1> <2>b</2>", "<1>a <2>b</2></1>", "the translation has <2> within other tags than the English"},
		{"a {", "a", "the id has a { that begins no placeholder such as {1}"},
		{"a <1>", "a", "the id does not close <1>"},
	} {
		err := Check(c.id, c.translation)
		if got := ""; c.want != got && (err == nil || err.Error() != c.want) || c.want == "" && err != nil {
			t.Errorf("Check(%q, %q): %v, want %q", c.id, c.translation, err, c.want)
		}
	}
}

// loose makes sources that differ only in white space and in how a character is written alike.
func loose(s string) string {
	s = strings.NewReplacer("⟦", "", "⟧", "").Replace(s)
	return strings.Join(strings.FieldsFunc(unescaped(s), white), " ")
}
