package soundboard

import "golang.org/x/sys/cpu"

// wide is whether the processor has AVX2 and fused multiply-add.
var wide = cpu.X86.HasAVX2 && cpu.X86.HasFMA

// dot4x3 gives the twelve dot products of four rows of a with three of b: out[3i+j] = a_i · b_j. Rows are lda and ldb apart and
// n long, n a multiple of 4 and not 0.
//
//go:noescape
func dot4x3(n int, a *float64, lda int, b *float64, ldb int, out *float64)

// dots4 takes from acc, four numbers, the sum of row[j]·loc[4j:4j+4] over n.
//
//go:noescape
func dots4(n int, row *float64, loc *float64, acc *float64)

// take4 takes row[j]·x from loc[4j:4j+4], x four numbers, for each of n.
//
//go:noescape
func take4(n int, row *float64, loc *float64, x *float64)
