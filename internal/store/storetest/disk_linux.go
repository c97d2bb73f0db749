package storetest

import (
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"
)

// SmallDisk mounts a disk of so many KiB in memory and returns its folder, and a way to make it read-only.
// It skips the test where mounting is not allowed.
func SmallDisk(t *testing.T, kib string) (dir string, freeze func()) {
	t.Helper()
	dir = t.TempDir()
	if err := syscall.Mount("fairset-test", dir, "tmpfs", 0, "size="+kib+"k"); err != nil {
		t.Skipf("a small disk cannot be mounted here: %v", err)
	}
	t.Cleanup(func() { syscall.Unmount(dir, syscall.MNT_DETACH) })
	return dir, func() {
		if err := syscall.Mount("fairset-test", dir, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, "size="+kib+"k"); err != nil {
			t.Skipf("the disk cannot be made read-only here: %v", err)
		}
	}
}

// AsNobody runs do as a user who owns nothing, in a folder everyone may enter, and waits for it. What do
// opens must be opened by do itself: the user changes for its thread only.
func AsNobody(t *testing.T, do func()) {
	t.Helper()
	if os.Getuid() != 0 {
		do()
		return
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		runtime.LockOSThread() // never unlocked: the thread ends with the goroutine
		if err := syscall.Setfsuid(65534); err != nil {
			t.Errorf("become nobody: %v", err)
			return
		}
		do()
	}()
	<-done
}

// OpenFolder makes a folder that everyone may enter.
func OpenFolder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "fairset-test-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	return filepath.Clean(dir)
}
