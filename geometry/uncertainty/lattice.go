package uncertainty

// generating is the generating vector of a rank-1 lattice of batchSize points:
// point k has the coordinates {k z_j / batchSize + shift_j}. Its making is in
// lattice_test.go.
var generating = [64]int32{
	1, 4129, 3721, 1619, 4044, 3119, 2883, 1275, 3268, 4305, 442, 4790, 1967, 563, 245, 4431,
	2489, 3792, 2663, 3428, 1438, 229, 2116, 1777, 1761, 3318, 4092, 2093, 3009, 1019, 2132, 2590,
	797, 2709, 3664, 1216, 4312, 3357, 742, 4028, 1587, 2235, 2393, 4715, 4067, 4818, 3341, 2496,
	1406, 316, 1287, 2006, 4328, 1793, 2780, 1074, 4660, 1493, 1461, 2322, 845, 790, 2354, 1706,
}
