package cli

import (
	"io"

	"fairset/internal/shop"
	"fairset/internal/store"

	"github.com/spf13/cobra"
)

func (a *app) exportCmd() *cobra.Command {
	var out string
	var tables bool
	cmd := &cobra.Command{
		Use: "export [GUITAR] [--out FILE] [--tables]", Short: "Write one guitar, or the whole shop, as a file", Args: args(0, 1, ""),
		Long: `Write one guitar as a guitar file, or every guitar on the bench and the shop's air as a shop file; fairset import
takes either in. With --tables everything, settings and guitars taken off the bench too, as CSV tables in a zip, for
any spreadsheet. Accounts are in neither; a copy of the shop (fairset backup) holds them.`,
		Example: "  fairset export Heron --out heron.json\n  fairset export --out shop.json\n  fairset export --tables --out shop.zip",
		RunE: func(cmd *cobra.Command, args []string) error {
			if tables {
				if len(args) > 0 {
					return &usageError{"--tables writes the whole shop", "leave the guitar out"}
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
	return cmd
}

func (a *app) importCmd() *cobra.Command {
	return &cobra.Command{
		Use: "import FILE", Short: "Take in a guitar file or a shop file; nothing is overwritten", Args: args(1, 1, "which file; - is standard input"),
		RunE: func(cmd *cobra.Command, args []string) error {
			data, err := a.readFile(args[0])
			if err != nil {
				return err
			}
			return a.use("", func(s *shop.Shop) error {
				got, err := s.Import(a.ctx, data)
				if err != nil && len(got.Guitars) == 0 {
					return &hinted{err, "nothing was imported"}
				}
				for _, i := range got.Guitars {
					name, id := i.Record.Guitar.Name, i.Record.Guitar.ID
					switch i.Outcome {
					case store.Skipped:
						a.printf("%s is here already, entry for entry (id %s).\n", name, id)
					case store.Restored:
						a.printf("%s was put away here; it is back (id %s).\n", name, id)
					case store.Copied:
						a.printf("%s was added beside a different guitar that has its id %s; it is now %s.\n", name, i.Was, id)
					default:
						a.printf("%s was added (id %s).\n", name, id)
					}
				}
				if err == nil && got.HadAir {
					a.printf("Of the air %d readings were added, %d were here already, %d differ from one here and were left out.\n", got.Air.Added, got.Air.Same, len(got.Air.Differ))
				}
				return err
			})
		},
	}
}
