package cli

import (
	"io"
	"os"

	"fairset/internal/photo"
	"fairset/internal/place"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/unit"

	"github.com/spf13/cobra"
)

func (a *app) photoCmd() *cobra.Command {
	cmd := &cobra.Command{Use: "photo", Short: "Photos of a guitar and its entries",
		Long: "Photos of a guitar and its entries. A JPEG, PNG or WebP file of at most 20 MB is kept as a JPEG of at most 2048\npixels, turned upright; where and when it was taken, and by what, is left out."}
	var entry int
	var alt, bench string
	add := &cobra.Command{Use: "add GUITAR FILE... [--entry N] [--alt TEXT]", Short: "Add photos", Args: args(2, 1000, "say which guitar and which file"),
		Example: "  fairset photo add Heron heel.jpg\n  fairset photo add Heron gap.jpg --entry 4 --alt \"gap at the cap\"",
		RunE: func(_ *cobra.Command, in []string) error {
			return a.useOne(in[0], func(s *shop.Shop, v shop.View) error {
				if !s.KeepsPhotos() {
					return store.NoPhotos()
				}
				var pics []photo.Picture
				for _, name := range in[1:] {
					data, err := readPhoto(name)
					if err != nil {
						return err
					}
					p, err := shop.ReadPhoto(data)
					if err != nil {
						return withHint(store.Errorf(store.Invalid, err, "%s: %s", name, shop.SentenceIn(err, a.style())), "nothing was added")
					}
					pics = append(pics, p)
				}
				ps, err := s.AddPhotos(a.ctx, v.Guitar.ID, entry, alt, bench, a.style(), pics)
				if err != nil {
					return err
				}
				for i, p := range ps {
					a.say("", "%s is kept as photo %s of %s, %d by %d pixels.", in[1+i], p.ID, v.Guitar.Name, p.Width, p.Height)
				}
				return nil
			})
		}}
	add.Flags().IntVar(&entry, "entry", 0, "number of the entry they were taken with; 0 is the guitar itself")
	add.Flags().StringVar(&alt, "alt", "", "what they show; the step's name when left out")
	add.Flags().StringVar(&bench, "bench", "", "who adds them, such as \"bench 3\"")
	list := &cobra.Command{Use: "list GUITAR", Short: "List the photos of a guitar", Args: args(1, 1, "say which guitar"),
		RunE: func(_ *cobra.Command, in []string) error {
			return a.useOne(in[0], func(s *shop.Shop, v shop.View) error {
				ps, err := s.Photos(a.ctx, v.Guitar.ID)
				if err != nil {
					return err
				}
				if len(ps) == 0 {
					a.say("", "%s has no photos.", v.Guitar.Name)
				}
				for _, p := range ps {
					of := a.style().Say("the guitar‖what a photo is of")
					if p.Entry > 0 && p.Entry <= len(v.Guitar.Log) {
						of = stepName(v.Guitar.Log[p.Entry-1].Step).In(a.style())
					}
					a.printf("%s  %s  %d x %d  %s  %s\n", p.ID, p.At.Local().Format("2006-01-02"), p.Width, p.Height, of, p.Alt)
				}
				return nil
			})
		}}
	var out string
	save := &cobra.Command{Use: "save GUITAR PHOTO --out FILE", Short: "Save a photo to a file", Args: args(2, 2, "say which guitar and which photo"),
		RunE: func(_ *cobra.Command, in []string) error {
			if out == "" {
				return &usageError{unit.Say("say where the photo goes with --out"), unit.Say("fairset photo save %s %s --out photo.jpg; - is standard output", quoteArg(in[0]), in[1])}
			}
			return a.useOne(in[0], func(s *shop.Shop, v shop.View) error {
				data, err := s.PhotoBytes(a.ctx, v.Guitar.ID, in[1], false)
				if err != nil {
					return withHint(err, "fairset photo list names them")
				}
				return a.writeFile(out, data)
			})
		}}
	save.Flags().StringVar(&out, "out", "", "file to write; - is standard output")
	remove := &cobra.Command{Use: "remove GUITAR PHOTO", Short: "Erase a photo for good", Args: args(2, 2, "say which guitar and which photo"),
		RunE: func(_ *cobra.Command, in []string) error {
			return a.useOne(in[0], func(s *shop.Shop, v shop.View) error {
				if err := s.RemovePhoto(a.ctx, v.Guitar.ID, in[1]); err != nil {
					return withHint(err, "fairset photo list names them")
				}
				a.say("", "Photo %s of %s is erased.", in[1], v.Guitar.Name)
				return nil
			})
		}}
	cmd.AddCommand(add, list, save, remove)
	return cmd
}

// readPhoto reads no more of a file than a photo may have.
func readPhoto(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, store.Errorf(store.NotFound, err, "%s cannot be read: %v.", path, place.Bare(err))
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, photo.MaxBytes+1))
	if err != nil {
		return nil, store.Errorf(store.Invalid, err, "%s cannot be read: %v.", path, place.Bare(err))
	}
	return data, nil
}
