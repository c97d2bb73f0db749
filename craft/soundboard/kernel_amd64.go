package soundboard

import "golang.org/x/sys/cpu"

// wide is whether the processor has AVX2 and fused multiply-add.
var wide = cpu.X86.HasAVX2 && cpu.X86.HasFMA

// take4x12 is takePanel for a processor that is wide; n is not 0.
//
//go:noescape
func take4x12(n int, a *float64, row, step int, x, c *float64, ldc int, fresh bool)
