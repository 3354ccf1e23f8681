package cli

import (
	"charm.land/lipgloss/v2"
	"charm.land/lipgloss/v2/table"
)

// newTable returns a table in the look of this program: a rule under the head, and nothing else.
func newTable(head ...string) *table.Table {
	cell := lipgloss.NewStyle().PaddingRight(2)
	return table.New().
		Border(lipgloss.NormalBorder()).
		BorderTop(false).BorderBottom(false).BorderLeft(false).BorderRight(false).BorderColumn(false).BorderRow(false).
		Headers(head...).
		StyleFunc(func(row, _ int) lipgloss.Style {
			if row == table.HeaderRow {
				return cell.Bold(true)
			}
			return cell
		})
}
