package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"text/tabwriter"

	"fairset/internal/place"
	"fairset/internal/shop"
	"fairset/printing"
	"fairset/unit"

	"github.com/spf13/cobra"
)

// printer prints what one command line asks for.
type printer struct {
	*app
	job     printing.Job
	options printing.Options
	out     string
	folder  bool               // out is a folder
	names   printing.FileNames // of the guitars; nil when there is one
	whole   int                // files in place
	files   []string           // those of the guitar at hand
	missed  error              // why the last guitar of several could not be printed at all
}

func (a *app) printCmd() *cobra.Command {
	var guitars []string
	var sheets, format, out string
	var class, list bool
	cmd := &cobra.Command{
		Use:   "print GUITAR --sheet NAME --out FILE",
		Short: "Print sheets of a guitar, or of every guitar of the shop, at full size",
		Long: `Print sheets at full size: templates to lay on the wood, charts and lists. GUITAR is a name, an id, or a
guitar file; several may be given.

Where the files go
  one PDF, or one page in another format       the file that --out names
  several pages of one sheet, not as PDF       that name with a number: plan-1.svg, plan-2.svg
  several sheets not as PDF, several guitars   the folder that --out names, made when missing
A file is whole or not there at all: a run that fails or is stopped leaves what stood there before.`,
		Example: `  fairset print --list
  fairset print Heron --sheet frets --out frets.pdf
  fairset print --guitar plan.json --sheet frets,side --format svg --out plan/
  fairset print --class --sheet all --out class/`,
		Args: cobra.ArbitraryArgs,
	}
	f := cmd.Flags()
	f.StringArrayVar(&guitars, "guitar", nil, "guitar file, name or id; again for each")
	f.BoolVar(&class, "class", false, "every guitar of the shop")
	f.StringVar(&sheets, "sheet", "", "names joined by commas, or all; --list says which there are")
	f.StringVar(&format, "format", "", formatList()+"; else by the ending of --out, else pdf")
	f.StringVar(&out, "out", "", "file or folder to write; - is standard output")
	f.BoolVar(&list, "list", false, "name the sheets")
	ff := a.fieldsOn(cmd, false, printing.Fields())
	cmd.RunE = func(cmd *cobra.Command, args []string) (err error) {
		if list {
			w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
			for _, e := range printing.List() {
				fmt.Fprintf(w, "%s\t%s\n", e.Name, a.style().Say("%v. %v", e.Title, e.About))
			}
			return w.Flush()
		}
		guitars = append(guitars, args...)
		switch {
		case len(guitars) == 0 && !class:
			return misused("say which guitar", "fairset print GUITAR, --guitar FILE.json, or --class for every guitar of the shop")
		case len(guitars) > 0 && class:
			return misused("--class is every guitar of the shop", "leave the names out, or leave --class out")
		case sheets == "":
			return misused("say which sheet with --sheet", "fairset print --list names them; all prints every one")
		case out == "":
			return misused("say where to with --out", "a file, a folder, or - for standard output")
		}
		p := &printer{app: a, out: out}
		if format == "" {
			if format = ending(out); format == "" {
				if ext := strings.TrimPrefix(strings.ToLower(filepath.Ext(out)), "."); slices.Contains(otherEndings, ext) {
					return &usageError{unit.Say("%s: no sheet is written as .%s", out, ext), unit.Say("end the name in one of these: %s, or say it with --format", formatList())}
				}
				format = string(printing.PDF)
			}
		}
		if p.job.Format, err = printing.ParseFormat(format); err != nil {
			return err
		}
		if p.job.Entries, err = printing.FindAll(sheets); err != nil {
			return err
		}
		texts, err := ff.texts(printing.Fields(), unit.Say("a print‖a flag does not belong to"))
		if err != nil {
			return err
		}
		if class || len(guitars) > 1 {
			p.names = printing.FileNames{}
		}
		// With many sheets or many guitars, one that cannot be drawn yet must not keep the others from the paper.
		p.job.Lenient = strings.ToLower(strings.TrimSpace(sheets)) == printing.All || p.names != nil
		// The first Ctrl-C gives up the file being written; those before it are whole.
		ctx, stop := signal.NotifyContext(a.ctx, os.Interrupt, syscall.SIGTERM)
		defer stop()
		a.ctx = ctx
		return p.run(guitars, texts)
	}
	return cmd
}

func formatList() string {
	var names []string
	for _, f := range printing.Formats() {
		names = append(names, string(f))
	}
	return strings.Join(names, ", ")
}

// otherEndings are those of files that a drawing may well be wanted as, and is not: a PDF under such a name would not open.
var otherEndings = []string{"jpg", "jpeg", "gif", "bmp", "tif", "tiff", "webp", "eps", "ps", "dwg", "doc", "docx", "odt", "html", "txt", "csv", "zip", "json"}

// ending is the format that a file's name ends in; "" for none.
func ending(path string) string {
	ext := strings.TrimPrefix(strings.ToLower(filepath.Ext(path)), ".")
	if slices.Contains(printing.Formats(), printing.Format(ext)) {
		return ext
	}
	return ""
}

// run prints the guitars; none named is every guitar of the shop.
func (p *printer) run(guitars []string, texts map[string][]string) error {
	if err := p.prepare(); err != nil {
		return err
	}
	var err error
	if len(guitars) == 0 {
		err = p.use("", func(s *shop.Shop) error {
			if err := p.setup(texts); err != nil {
				return err
			}
			names, err := s.Names(p.ctx)
			if err != nil {
				return err
			}
			var ids []string
			for _, n := range names {
				ids = append(ids, n.ID)
			}
			return s.PrintEach(p.ctx, ids, func(shop.View) printing.Job { return p.job }, p.style(), p.options, p.put, p.said)
		})
	}
	for _, arg := range guitars {
		if err = p.useOne(arg, func(s *shop.Shop, v shop.View) error { return p.guitar(s, v, texts) }); err != nil {
			break
		}
	}
	switch {
	case err != nil && p.whole > 0:
		fmt.Fprintf(p.Err, "fairset: %s\n", p.style().Count(p.whole, "%d file is whole and in place", "%d files are whole and in place"))
		return err
	case err != nil:
		return err
	case p.whole == 0 && p.missed != nil:
		return p.missed
	case p.whole == 0:
		return misused("there is no guitar in the shop", "fairset new starts one")
	}
	return nil
}

// prepare decides whether --out is a file or a folder, and makes the folder.
func (p *printer) prepare() error {
	st, err := os.Stat(p.out)
	isDir := err == nil && st.IsDir()
	slash := strings.HasSuffix(filepath.ToSlash(p.out), "/")
	several := p.names != nil || p.job.Format != printing.PDF && len(p.job.Entries) > 1
	p.folder = several || slash || isDir
	if !p.folder {
		return nil
	}
	switch {
	case p.out == "-":
		return misused("several files cannot go to standard output", "name a folder with --out")
	case several && !isDir && !slash && (err == nil || ending(p.out) != ""):
		return &usageError{unit.Say("several files cannot go into the one file %s", p.out), unit.Say("name a folder with --out; a name that ends in / is one")}
	}
	if err := os.MkdirAll(p.out, 0o755); err != nil {
		return withHint(place.Refused(p.out, err), "choose another place")
	}
	return nil
}

// setup reads the flags. A bare length is in the shop's units, which are known once it is open.
func (p *printer) setup(texts map[string][]string) (err error) {
	p.job.Setup, p.options, err = printing.ParseSetup(texts, p.style())
	return err
}

// guitar prints one guitar of those named.
func (p *printer) guitar(s *shop.Shop, v shop.View, texts map[string][]string) error {
	if err := p.setup(texts); err != nil {
		return err
	}
	put := p.put
	if p.names != nil {
		put = p.names.Own(v.Guitar.Name, v.Guitar.ID, put)
	}
	r, err := p.job.Make(s.Source(v, p.style(), p.options), put)
	var need *printing.NeedError
	if err != nil && !(p.names != nil && errors.As(err, &need)) {
		return err
	}
	p.said(v, r, err)
	return nil
}

// said tells what became of a guitar.
func (p *printer) said(v shop.View, r printing.Report, err error) {
	if err != nil {
		p.missed = err
		p.tell("nothing of %s is printed yet. %v", v.Guitar.Name, err)
		return
	}
	for _, need := range r.Left {
		p.tell("left out of %s: %v", v.Guitar.Name, need)
	}
	if files := p.files; p.out != "-" {
		where := unit.Plain(files[0])
		if len(files) > 1 {
			where = unit.Say("%s to %s", files[0], filepath.Base(files[len(files)-1]))
		}
		p.say("", "%s: %v on %v, %v", v.Guitar.Name, unit.Plural(r.Sheets, "%d drawing", "%d drawings"), unit.Plural(r.Pages, "%d page", "%d pages"), where)
	}
	p.files = nil
}

// put puts one file where it belongs.
func (p *printer) put(name string, write func(io.Writer) error) error {
	path, err := p.path(name)
	if err != nil {
		return err
	}
	if err := p.writeTo(path, write); err != nil {
		return err
	}
	p.whole++
	p.files = append(p.files, path)
	return nil
}

// path is where a file of Job.Make goes.
func (p *printer) path(name string) (string, error) {
	if p.folder {
		return filepath.Join(p.out, name), nil
	}
	if p.job.Format == printing.PDF {
		return p.out, nil
	}
	// One sheet: "frets.svg" alone, or "frets-2.svg" among several pages.
	ext := "." + string(p.job.Format)
	number := strings.TrimPrefix(strings.TrimSuffix(name, ext), p.job.Entries[0].Name)
	switch {
	case number == "":
		return p.out, nil
	case p.out == "-":
		return "", misused("the sheet has several pages, and standard output takes one file", "name a file with --out, or print a PDF")
	}
	stem := p.out
	if ending(stem) != "" {
		stem = strings.TrimSuffix(stem, filepath.Ext(stem))
	}
	return stem + number + ext, nil
}
