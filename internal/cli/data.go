package cli

import (
	"io"
	"os"

	"fairset/internal/shop"
	"fairset/internal/store"

	"github.com/spf13/cobra"
)

func (a *app) exportCmd() *cobra.Command {
	var out string
	var tables, photos bool
	cmd := &cobra.Command{
		Use: "export [GUITAR] [--out FILE] [--photos | --tables]", Short: "Write one guitar, or the whole shop, as a file", Args: args(0, 1, ""),
		Long: `Write one guitar as a guitar file, or every guitar on the bench and the shop's air as a shop file; fairset import
takes either in. With --photos the whole shop and its photos in a zip, which can be taken in as well. With --tables everything, settings and guitars taken off the bench too, as CSV tables in a zip, for
any spreadsheet. Accounts are in neither; a copy of the shop (fairset backup) holds them.`,
		Example: "  fairset export Heron --out heron.json\n  fairset export --out shop.json\n  fairset export --photos --out shop.zip\n  fairset export --tables --out tables.zip",
		RunE: func(cmd *cobra.Command, args []string) error {
			if photos {
				switch {
				case tables:
					return misused("--photos and --tables are two different files", "give one of them")
				case len(args) > 0:
					return misused("--photos writes the whole shop", "leave the guitar out; fairset photo save writes one photo")
				}
				return a.use("", func(s *shop.Shop) error {
					return a.writeTo(out, func(w io.Writer) error { return s.ExportAlbum(a.ctx, w) })
				})
			}
			if tables {
				if len(args) > 0 {
					return misused("--tables writes the whole shop", "leave the guitar out")
				}
				return a.use("", func(s *shop.Shop) error {
					return a.writeTo(out, func(w io.Writer) error { return s.WriteTables(a.ctx, w) })
				})
			}
			var data []byte
			if len(args) == 0 {
				if err := a.use("", func(s *shop.Shop) (err error) {
					data, err = s.ExportAll(a.ctx)
					return err
				}); err != nil {
					return err
				}
			} else if err := a.useOne(args[0], func(s *shop.Shop, v shop.View) (err error) {
				data, err = s.Export(a.ctx, v.Guitar.ID)
				return err
			}); err != nil {
				return err
			}
			return a.writeFile(out, data)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "file to write; - or nothing is standard output")
	cmd.Flags().BoolVar(&tables, "tables", false, "the whole shop as CSV tables in a zip")
	cmd.Flags().BoolVar(&photos, "photos", false, "the whole shop with its photos, as a zip file")
	return cmd
}

func (a *app) importCmd() *cobra.Command {
	return &cobra.Command{
		Use: "import FILE", Short: "Take in a guitar file, a shop file or a zip with photos; nothing is overwritten", Args: args(1, 1, "say which file; - is standard input"),
		RunE: func(cmd *cobra.Command, args []string) error {
			album, size, err := openAlbum(args[0])
			if err != nil {
				return err
			}
			var data []byte
			if album != nil {
				defer album.Close()
			} else if data, err = a.readFile(args[0]); err != nil {
				return err
			}
			return a.use("", func(s *shop.Shop) error {
				var got shop.Taken
				if album != nil {
					got, err = s.ImportAlbum(a.ctx, album, size)
				} else {
					got, err = s.Import(a.ctx, data)
				}
				if err != nil && len(got.Guitars) == 0 {
					return withHint(err, "nothing was imported")
				}
				for _, i := range got.Guitars {
					name, id := i.Record.Guitar.Name, i.Record.Guitar.ID
					switch i.Outcome {
					case store.Skipped:
						a.say("", "%s is here already, entry for entry (id %s).", name, id)
					case store.Restored:
						a.say("", "%s was put away here; it is back (id %s).", name, id)
					case store.Copied:
						a.say("", "%s was added beside a different guitar that has its id %s; it is now %s.", name, i.Was, id)
					default:
						a.say("", "%s was added (id %s).", name, id)
					}
				}
				if err == nil && got.HadAir {
					a.say("", "Of the air %d readings were added, %d were here already, %d differ from one here and were left out.", got.Air.Added, got.Air.Same, len(got.Air.Differ))
				}
				if album != nil {
					a.say("", "%d photos were added.", got.Photos)
				}
				return err
			})
		},
	}
}

// openAlbum opens a zip file; nil for any other.
func openAlbum(path string) (*os.File, int64, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, 0, nil // what is wrong with it is said where it is read
	}
	start := make([]byte, 4)
	st, err := f.Stat()
	if _, short := io.ReadFull(f, start); err != nil || short != nil || !shop.IsAlbum(start) {
		return nil, 0, f.Close()
	}
	return f, st.Size(), nil
}
