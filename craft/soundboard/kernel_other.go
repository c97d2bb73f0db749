//go:build !amd64

package soundboard

const wide = false

func dot4x3(int, *float64, int, *float64, int, *float64) {}

func dots4(int, *float64, *float64, *float64) {}

func take4(int, *float64, *float64, *float64) {}
