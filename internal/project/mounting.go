package project

// mounting complains of screws that are not on the board.
func (c *checker) mounting(b *BoardUse) {
	if b.Mounting == nil || !b.Complete() {
		return
	}
	for _, at := range b.Mounting.At {
		if !at.X.Set || !at.Y.Set {
			continue
		}
		if !b.Outline().Contains(at.X.SI, at.Y.SI) {
			c.add(at.X.At, "places count from the centre of the board", "a screw of the mounting lies off the board")
		}
	}
}
