package uncertainty

// generating is the generating vector z of a rank-1 lattice of `lattice` points: point k
// has the coordinates {k z_j / lattice + shift_j}, {} being the fractional part. Its
// construction is in lattice_test.go.
var generating = [64]int32{
	1, 1850, 2160, 1396, 1132, 524, 2410, 2485, 660, 1356, 2427, 1734, 1283, 847, 295, 320,
	2329, 2465, 1928, 63, 905, 799, 499, 2092, 1104, 620, 174, 1409, 2087, 2112, 1298, 1550,
	920, 2359, 1245, 121, 1981, 852, 983, 2107, 1119, 489, 2218, 988, 1782, 383, 436, 1424,
	1482, 1177, 252, 421, 1681, 741, 1918, 305, 2165, 930, 2402, 247, 373, 2286, 1172, 1114,
}
