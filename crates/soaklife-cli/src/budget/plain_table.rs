//! A table in plain text whose columns are as wide as what stands in them.

/// How a column stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    Left,
    Right,
}

/// Rows as lines, indented by two, with two spaces or more between columns; a heading is a row like any other.
pub(super) fn lines(sides: &[Side], rows: &[Vec<String>]) -> String {
    let width = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column));
        cells.map(|cell| cell.chars().count()).max().unwrap_or_default()
    };
    let widths: Vec<usize> = (0..sides.len()).map(width).collect();
    let mut text = String::new();
    for row in rows {
        let mut line = String::new();
        for ((cell, side), width) in row.iter().zip(sides).zip(&widths) {
            line.push_str("  ");
            match side {
                Side::Left => line.push_str(&format!("{cell:<width$}")),
                Side::Right => line.push_str(&format!("{cell:>width$}")),
            }
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_never_touch() {
        let rows = [["", "pits", "USD"], ["rest of 2026", "1,975", "40,000,000"]]
            .map(|row| row.map(str::to_owned).to_vec());
        let told = lines(&[Side::Left, Side::Right, Side::Right], &rows);
        assert_eq!(told, "                 pits         USD\n  rest of 2026  1,975  40,000,000\n");
    }
}
