//! The spatial index of a layer, written at once instead of row by row.
//!
//! SQLite's R*Tree module keeps its tree in three plain tables, whose content its manual describes (The SQLite R*Tree
//! Module, section "Shadow Tables"): nodes of a fixed size with big-endian cells, the node of each row, the parent of
//! each node. Since all boxes are known, they are packed: sorted into strips by easting, within a strip by northing
//! (Leutenegger, Lopez and Edgington 1997, STR: A simple and efficient algorithm for R-tree packing). Ten thousand rows
//! take a twentieth of the time that inserting takes, and no page is left free.
//!
//! Invariant: every box of the index holds its row's box (single precision is rounded outwards), equal input gives equal
//! bytes, and `rtreecheck` finds nothing.

use rusqlite::{Connection, params};

/// A row's number and its box: least and greatest easting, least and greatest northing.
pub(super) type Row = (i64, [f64; 4]);

/// Bytes of a node before its cells: depth and count.
const HEAD: usize = 4;
/// Bytes of a cell: a number and four single-precision bounds.
const CELL: usize = 24;
/// The root's number in every tree.
const ROOT: i64 = 1;

/// One entry of a node: a row or a node below, and its box.
#[derive(Debug, Clone, Copy)]
struct Cell {
    of: i64,
    bounds: [f32; 4],
}

/// Fills a new and empty index table.
pub(super) fn fill(database: &Connection, index: &str, rows: &[Row]) -> rusqlite::Result<()> {
    if rows.is_empty() {
        return Ok(());
    }
    let table = |part: &str| format!("\"{}_{part}\"", index.replace('"', "\"\""));
    let node_table = table("node");
    let size: usize = database.query_row(
        &format!("SELECT length(data) FROM {node_table} WHERE nodeno = ?1"),
        params![ROOT],
        |row| Ok(usize::try_from(row.get::<_, i64>(0)?).unwrap_or_default()),
    )?;
    let most = (size.saturating_sub(HEAD) / CELL).max(2);

    let cells: Vec<Cell> = rows.iter().map(|&(of, bounds)| Cell { of, bounds: outwards(bounds) }).collect();
    // Levels from the leaves up, until what is left fits into the root.
    let mut levels: Vec<Vec<Vec<Cell>>> = Vec::new();
    let mut next = ROOT + 1;
    let mut waiting = cells;
    while waiting.len() > most {
        let nodes = packed(waiting, most);
        waiting = nodes.iter().zip(next..).map(|(node, of)| Cell { of, bounds: around(node) }).collect();
        next += i64::try_from(nodes.len()).unwrap_or(i64::MAX);
        levels.push(nodes);
    }
    let depth = u16::try_from(levels.len()).unwrap_or(u16::MAX);

    let mut leaf_of: Vec<(i64, i64)> = Vec::with_capacity(rows.len());
    let mut parent_of: Vec<(i64, i64)> = Vec::new();
    let mut tell = |level: usize, node: &[Cell], number: i64| {
        let list = if level == 0 { &mut leaf_of } else { &mut parent_of };
        list.extend(node.iter().map(|cell| (cell.of, number)));
    };
    database.execute(
        &format!("UPDATE {node_table} SET data = ?1 WHERE nodeno = ?2"),
        params![bytes(&waiting, depth, size), ROOT],
    )?;
    tell(levels.len(), &waiting, ROOT);
    {
        let mut insert = database.prepare(&format!("INSERT INTO {node_table} VALUES (?1, ?2)"))?;
        let mut number = ROOT + 1;
        for (level, nodes) in levels.iter().enumerate() {
            for node in nodes {
                insert.execute(params![number, bytes(node, 0, size)])?;
                tell(level, node, number);
                number += 1;
            }
        }
    }
    for (part, mut list) in [("rowid", leaf_of), ("parent", parent_of)] {
        list.sort_unstable();
        let mut insert = database.prepare(&format!("INSERT INTO {} VALUES (?1, ?2)", table(part)))?;
        for (of, number) in list {
            insert.execute(params![of, number])?;
        }
    }
    Ok(())
}

/// In nodes of at most so many, near ones together.
fn packed(mut cells: Vec<Cell>, most: usize) -> Vec<Vec<Cell>> {
    let middle = |cell: &Cell, axis: usize| f64::from(cell.bounds[2 * axis]) + f64::from(cell.bounds[2 * axis + 1]);
    let by = |axis: usize| move |a: &Cell, b: &Cell| middle(a, axis).total_cmp(&middle(b, axis)).then(a.of.cmp(&b.of));
    let nodes = cells.len().div_ceil(most);
    let strips = (1..=nodes).find(|strips| strips * strips >= nodes).unwrap_or(1);
    let strip = nodes.div_ceil(strips) * most;
    cells.sort_unstable_by(by(0));
    cells
        .chunks_mut(strip)
        .flat_map(|strip| {
            strip.sort_unstable_by(by(1));
            strip.chunks(most).map(<[Cell]>::to_vec).collect::<Vec<_>>()
        })
        .collect()
}

fn around(node: &[Cell]) -> [f32; 4] {
    node.iter().skip(1).fold(node[0].bounds, |all, cell| {
        let b = cell.bounds;
        [all[0].min(b[0]), all[1].max(b[1]), all[2].min(b[2]), all[3].max(b[3])]
    })
}

/// The least box in single precision that holds this one.
#[expect(clippy::cast_possible_truncation, reason = "rounded outwards at once")]
fn outwards(bounds: [f64; 4]) -> [f32; 4] {
    let down = |value: f64| {
        let near = value as f32;
        if f64::from(near) > value { near.next_down() } else { near }
    };
    let up = |value: f64| {
        let near = value as f32;
        if f64::from(near) < value { near.next_up() } else { near }
    };
    [down(bounds[0]), up(bounds[1]), down(bounds[2]), up(bounds[3])]
}

fn bytes(node: &[Cell], depth: u16, size: usize) -> Vec<u8> {
    let mut out = Vec::with_capacity(size);
    out.extend(depth.to_be_bytes());
    out.extend(u16::try_from(node.len()).unwrap_or(u16::MAX).to_be_bytes());
    for cell in node {
        out.extend(cell.of.to_be_bytes());
        cell.bounds.iter().for_each(|bound| out.extend(bound.to_be_bytes()));
    }
    out.resize(size, 0);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(count: u32) -> Vec<Row> {
        // Boxes of 5 m scattered over a square kilometre at the size of a national grid.
        (0..count)
            .map(|i| {
                let at = |step: u32| f64::from(i.wrapping_mul(step) % 10_007) / 10.0;
                let (x, y) = (412_000.0 + at(7_919), 6_187_000.0 + at(104_729));
                (i64::from(i) + 1, [x, x + 5.0, y, y + 5.0])
            })
            .collect()
    }

    fn filled(rows: &[Row]) -> Connection {
        let database = Connection::open_in_memory().unwrap();
        database.execute_batch("CREATE VIRTUAL TABLE \"a b\" USING rtree(id, minx, maxx, miny, maxy);").unwrap();
        fill(&database, "a b", rows).unwrap();
        database
    }

    /// SQLite's own check of the tree, and each window finds what a look at every box finds, at every depth of the tree.
    #[test]
    fn the_database_finds_it_sound_and_windows_find_their_rows() {
        for count in [0, 1, 51, 52, 2_601, 2_602, 9_000] {
            let rows = rows(count);
            let database = filled(&rows);
            let told: String = database.query_row("SELECT rtreecheck('a b')", [], |row| row.get(0)).unwrap();
            assert_eq!(told, "ok", "{count} rows");
            for window in
                [[412_100.0, 412_130.0, 6_187_000.0, 6_188_100.0], [412_500.0, 412_510.0, 6_187_400.0, 6_187_420.0]]
            {
                let [west, east, south, north] = window;
                let mut query = database
                    .prepare("SELECT id FROM \"a b\" WHERE maxx >= ?1 AND minx <= ?2 AND maxy >= ?3 AND miny <= ?4 ORDER BY id")
                    .unwrap();
                let found: Vec<i64> = query
                    .query_map(params![west, east, south, north], |row| row.get(0))
                    .unwrap()
                    .map(Result::unwrap)
                    .collect();
                let meets = |b: &[f64; 4]| b[1] >= west && b[0] <= east && b[3] >= south && b[2] <= north;
                let wanted: Vec<i64> = rows.iter().filter(|(_, b)| meets(b)).map(|(id, _)| *id).collect();
                // Rounded outwards, a box may reach a window that it misses by less than a metre; never the other way.
                assert!(wanted.iter().all(|id| found.binary_search(id).is_ok()), "{count} rows: {window:?}");
                assert!(found.len() <= wanted.len() + 1 + wanted.len() / 2, "{count} rows: {window:?}");
            }
        }
    }

    #[test]
    fn rows_can_be_added_and_removed_later() {
        let database = filled(&rows(4_000));
        database
            .execute_batch("DELETE FROM \"a b\" WHERE id % 3 = 0; INSERT INTO \"a b\" VALUES (9999, 1, 2, 3, 4);")
            .unwrap();
        let told: String = database.query_row("SELECT rtreecheck('a b')", [], |row| row.get(0)).unwrap();
        assert_eq!(told, "ok");
        let left: i64 = database.query_row("SELECT count(*) FROM \"a b\"", [], |row| row.get(0)).unwrap();
        assert_eq!(left, 4_000 - 1_333 + 1);
    }

    #[test]
    fn single_precision_never_shrinks_a_box() {
        let b = [6_187_220.3, 6_187_220.3, -0.1, -0.1];
        let out = outwards(b).map(f64::from);
        assert!(out[0] <= b[0] && out[1] >= b[1] && out[2] <= b[2] && out[3] >= b[3]);
        assert!(out[1] - out[0] <= 0.5, "{out:?}");
    }
}
