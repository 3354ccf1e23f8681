package controller

// lutRows is the number of rows of the lightness table.
const lutRows = 257

// lightnessTable returns the relative luminance of equal steps of CIE 1976 lightness, in Q15:
//
//	table[k] = ⌊32768 Y + 1/2⌋ at L* = 100 k/256;  Y = ((L* + 16)/116)³ where L* > 8, else L* 27/24389
//
// In whole numbers throughout: (L* + 16)/116 is (100 k + 4096)/29696, and 32768·29696³ is below 2⁶⁰.
// Source: CIE15-2018, CIE 1976 lightness, in the exact form of its two constants.
func lightnessTable() (table [lutRows]uint16) {
	for k := range uint64(lutRows) {
		num, den := 100*k*27, uint64(256*24389)
		if 100*k > 8*256 {
			num, den = (100*k+4096)*(100*k+4096)*(100*k+4096), uint64(29696)*29696*29696
		}
		table[k] = uint16((2*One*num + den) / (2 * den))
	}
	return table
}
