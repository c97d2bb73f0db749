package soundboard

import "golang.org/x/sys/cpu"

// wide is whether the processor has AVX2 and fused multiply-add.
var wide = cpu.X86.HasAVX2 && cpu.X86.HasFMA

// dot4x3 gives the twelve dot products of four rows of a with three of b: out[3i+j] = a_i · b_j. Rows are lda and ldb apart and
// n long, n a multiple of 4 and not 0.
//
//go:noescape
func dot4x3(n int, a *float64, lda int, b *float64, ldb int, out *float64)
