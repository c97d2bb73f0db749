package cli

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"strings"

	"fairset/internal/access"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/unit"

	"github.com/spf13/cobra"
	"golang.org/x/term"
)

func (a *app) accountCmd() *cobra.Command {
	cmd := &cobra.Command{Use: "account", Short: "Who may sign in to the shared shop",
		Long: "Who may sign in when the shop is shared (fairset serve --share). A PIN or passphrase is asked for, or read from\nstandard input as one line; it is never given as an argument, where others on the machine could read it."}
	var role string
	add := &cobra.Command{Use: "add NAME [--role bench|teacher]", Short: "Let somebody in", Args: args(1, 1, "say the account's name"),
		Example: "  fairset account add \"front desk\" --role teacher\n  fairset account add \"bench 3\"",
		RunE: func(_ *cobra.Command, in []string) error {
			return a.useDoor(func(d *access.Door) error {
				r := store.Role(role)
				if _, err := store.CheckAccount(store.Account{Name: in[0], Role: r}); err != nil {
					return err
				}
				secret, err := a.secret(in[0])
				if err != nil {
					return err
				}
				acc, err := d.Add(a.ctx, access.Local, in[0], r, secret)
				if err == nil {
					say := unit.Text("%s can sign in as a bench.")
					if acc.Role == store.Teacher {
						say = "%s can sign in as a teacher."
					}
					a.say("", say, acc.Name)
				}
				return err
			})
		}}
	add.Flags().StringVar(&role, "role", string(store.Bench), "bench: its own guitars; teacher: everything")
	list := &cobra.Command{Use: "list", Short: "List who may sign in", Args: args(0, 0, ""),
		RunE: func(*cobra.Command, []string) error {
			return a.useDoor(func(d *access.Door) error {
				all, err := d.People.Accounts(a.ctx)
				for _, x := range all {
					state := ""
					if x.Locked {
						state = "  " + a.style().Say("locked: fairset account unlock %s", quoteArg(x.Name))
					}
					a.printf("%-8s %s%s\n", x.Role, x.Name, state)
				}
				return err
			})
		}}
	one := func(use, short string, say unit.Text, do func(d *access.Door, acc store.Account) error) *cobra.Command {
		return &cobra.Command{Use: use + " NAME", Short: short, Args: args(1, 1, "say the account's name"),
			RunE: func(_ *cobra.Command, in []string) error {
				return a.useDoor(func(d *access.Door) error {
					acc, err := a.account(d, in[0])
					if err != nil {
						return err
					}
					if err := do(d, acc); err != nil {
						return err
					}
					a.say("", say, acc.Name)
					return nil
				})
			}}
	}
	cmd.AddCommand(add, list,
		one("passphrase", "Give an account another PIN or passphrase", "%s has a new one, and is signed out everywhere.", func(d *access.Door, acc store.Account) error {
			secret, err := a.secret(acc.Name)
			if err != nil {
				return err
			}
			return d.SetSecret(a.ctx, access.Local, acc.ID, secret)
		}),
		one("unlock", "Lift the lock after too many wrong tries", "%s may try again.", func(d *access.Door, acc store.Account) error {
			return d.Unlock(a.ctx, access.Local, acc.ID)
		}),
		a.accountRemoveCmd())
	return cmd
}

func (a *app) accountRemoveCmd() *cobra.Command {
	var erase bool
	cmd := &cobra.Command{Use: "remove NAME [--erase-photos]", Short: "Remove an account, and its name from everything", Args: args(1, 1, "say the account's name"),
		RunE: func(_ *cobra.Command, in []string) error {
			return a.use("", func(s *shop.Shop) error {
				people, ok := s.Store.(store.People)
				if !ok {
					return misused("a file of guitars keeps no accounts", "--db names a shop's file")
				}
				d := &access.Door{People: people, Now: s.Now}
				acc, err := a.account(d, in[0])
				if err != nil {
					return err
				}
				photos, err := s.PhotosBy(a.ctx, acc.ID)
				if err != nil {
					return err
				}
				if _, _, err := d.Forget(a.ctx, access.Local, acc.ID); err != nil {
					return err
				}
				a.say("", "%s is removed. Readings and guitars stay.", acc.Name)
				if !erase {
					for _, p := range photos {
						a.say("", "Photo %s of guitar %s, %q, stays under the name that tells nothing: fairset photo remove %s %s erases it.", p.ID, p.Guitar, p.Alt, p.Guitar, p.ID)
					}
					return nil
				}
				n, err := s.ErasePhotos(a.ctx, photos)
				if err == nil {
					a.say("", "%d photos are erased.", n)
				}
				return err
			})
		}}
	cmd.Flags().BoolVar(&erase, "erase-photos", false, "erase every photo it added, too; without, they are named and stay")
	return cmd
}

// useDoor opens the shop for its accounts.
func (a *app) useDoor(do func(d *access.Door) error) error {
	return a.use("", func(s *shop.Shop) error {
		people, ok := s.Store.(store.People)
		if !ok {
			return misused("a file of guitars keeps no accounts", "--db names a shop's file")
		}
		return do(&access.Door{People: people, Now: s.Now})
	})
}

func (a *app) account(d *access.Door, name string) (store.Account, error) {
	all, err := d.People.Accounts(a.ctx)
	if err != nil {
		return store.Account{}, err
	}
	for _, x := range all {
		if store.SameName(x.Name, strings.Join(strings.Fields(name), " ")) {
			return x, nil
		}
	}
	return store.Account{}, withHint(store.Errorf(store.NotFound, nil, "No account here is called %q.", name), "fairset account list names them")
}

// secret asks for a PIN or passphrase twice without showing it, or reads one line from what is not a terminal.
func (a *app) secret(name string) (string, error) {
	f, ok := a.In.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		line, err := bufio.NewReader(io.LimitReader(a.In, 1<<12)).ReadString('\n')
		if err != nil && err != io.EOF {
			return "", fmt.Errorf("reading the passphrase: %w", err)
		}
		return strings.TrimRight(line, "\r\n"), nil
	}
	ask := func(say string) (string, error) {
		fmt.Fprint(a.Err, say)
		b, err := term.ReadPassword(int(f.Fd()))
		fmt.Fprintln(a.Err)
		return string(b), err
	}
	first, err := ask(a.style().Say("PIN or passphrase for %s: ", name))
	if err != nil {
		return "", err
	}
	again, err := ask(a.style().Say("The same again: "))
	if err != nil {
		return "", err
	}
	if first != again {
		return "", misused("the two are not the same", "nothing was changed; try again")
	}
	return first, nil
}
