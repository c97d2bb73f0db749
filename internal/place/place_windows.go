package place

import (
	"errors"
	"syscall"
)

func ignoreSizeSignal() {}

func syncFolder(string) {}

func readOnly(err error) bool { return errors.Is(err, syscall.Errno(19)) } // ERROR_WRITE_PROTECT

func full(err error) bool {
	return errors.Is(err, syscall.Errno(112)) || errors.Is(err, syscall.Errno(39)) // ERROR_DISK_FULL, ERROR_HANDLE_DISK_FULL
}
