//go:build unix

package place

import (
	"errors"
	"os"
	"os/signal"
	"path/filepath"
	"sync"
	"syscall"
)

// ignoreSizeSignal makes a file that grows past the user's limit an error like any other, not the program's end.
var ignoreSizeSignal = sync.OnceFunc(func() { signal.Ignore(syscall.SIGXFSZ) })

// syncFolder makes a new name durable, where the system can. The file itself is durable already, so what goes wrong
// here is no reason to say that it was not written.
func syncFolder(path string) {
	if d, err := os.Open(filepath.Dir(path)); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}

func readOnly(err error) bool { return errors.Is(err, syscall.EROFS) }

func full(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) || errors.Is(err, syscall.EFBIG)
}
