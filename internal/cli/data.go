package cli

import (
	"fairset/internal/shop"
	"fairset/internal/store"

	"github.com/spf13/cobra"
)

func (a *app) exportCmd() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use: "export [GUITAR] [--out FILE]", Short: "Write one guitar, or the whole shop, as a file", Args: args(0, 1, ""),
		Example: "  fairset export Heron --out heron.json\n  fairset export --out shop.json",
		RunE: func(cmd *cobra.Command, args []string) error {
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
				list, err := s.Import(a.ctx, data)
				if err != nil {
					return &hinted{err, "nothing was imported"}
				}
				for _, i := range list {
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
				return nil
			})
		},
	}
}
