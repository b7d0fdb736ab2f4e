//! A floor plan to scale: every use of the floor as a room of its area, with what stands in it, packed into one rectangle.
//!
//! Scenarios give areas and counts, not shapes. What is counted is drawn true to scale: the area of each room, the area of each bed and
//! pallet, the diameter of drums. Aisles are what remains, so their widths follow from the shares of floor that [`FloorFigures`] rests on.
//! Shapes of rooms and beds are assumed.

use super::floor::{FloorFigures, FloorUse};

/// Lowest and highest width over depth of the floor that is tried. Source: our choice, sheds and halls of usual shape.
const SHAPES: (f64, f64) = (1.0, 2.0);
/// Number of shapes tried between them. Source: our choice.
const TRIED: u32 = 21;

/// A rectangle on the floor, from its corner nearest the origin. # Units: m
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rectangle {
    /// Distance of the left side from the left wall.
    pub x: f64,
    /// Distance of the upper side from the upper wall of the plan.
    pub y: f64,
    /// Width.
    pub width: f64,
    /// Depth.
    pub depth: f64,
}

impl Rectangle {
    /// Area. # Units: m2
    pub fn area(&self) -> f64 {
        self.width * self.depth
    }

    fn turned(self) -> Self {
        Self { x: self.y, y: self.x, width: self.depth, depth: self.width }
    }
}

/// What stands in a room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Contents {
    /// Worm beds.
    Beds,
    /// Pallets of drums.
    Pallets,
    /// Goods or a working floor in one piece.
    Goods,
}

/// A use of the floor with what stands there.
#[derive(Debug, Clone, PartialEq)]
pub struct FloorRoom {
    /// What it is for, in words; of beds the name of their group.
    pub name: String,
    /// What stands in it.
    pub contents: Contents,
    /// The room, with its aisles.
    pub room: Rectangle,
    /// What stands there, each on its own floor.
    pub things: Vec<Rectangle>,
    /// Narrowest way between two of them, in either direction; none with fewer than two. # Units: m
    pub aisle: Option<f64>,
}

/// A floor plan.
#[derive(Debug, Clone, PartialEq)]
pub struct FloorPlan {
    /// Width of the whole floor. # Units: m
    pub width: f64,
    /// Its depth. # Units: m
    pub depth: f64,
    /// Rooms, the largest first.
    pub rooms: Vec<FloorRoom>,
    /// Diameter of a drum. # Units: m
    pub drum_diameter: f64,
    /// Number of drums.
    pub drums: usize,
    /// Drums on a full pallet.
    pub drums_per_pallet: usize,
    /// Width assumed for beds. # Units: m
    pub bed_width: f64,
    /// Whether beds of that width fit; else they are drawn as alike in shape to the floor of each.
    pub beds_fit: bool,
}

/// Equal beds.
#[derive(Debug, Clone, PartialEq)]
pub struct BedGroup {
    /// Name of the group.
    pub name: String,
    /// Number of beds.
    pub count: usize,
    /// Area of one. # Units: m2
    pub area: f64,
}

/// Drums and beds that a plan has room for.
#[derive(Debug, Clone, PartialEq)]
pub struct Equipped {
    /// Groups of beds.
    pub beds: Vec<BedGroup>,
    /// Number of drums.
    pub drums: usize,
    /// Volume of a drum. # Units: m3
    pub drum_volume: f64,
}

/// A room to be placed.
#[derive(Debug, Clone)]
struct Wanted {
    name: String,
    contents: Contents,
    area: f64,
    count: usize,
    /// Width and length of each thing. # Units: m
    each: (f64, f64),
}

/// The plan of a floor that holds what is counted. None without any.
///
/// Rooms are packed as a squarified treemap; of the shapes of the whole that are tried, the one with the widest ways between beds is taken.
///
/// # Units
/// m
///
/// # Source
/// Bruls, Huizing and van Wijk (2000), squarified treemaps; `site.bed_width`, `site.drum_diameter`, `site.drum_volume_55_gallon`.
pub fn floor_plan(floor: &FloorFigures, equipped: &Equipped, get: &dyn Fn(&str) -> f64) -> Option<FloorPlan> {
    let bed_width = get("site.bed_width");
    let mut wanted = wanted(floor, equipped, bed_width);
    wanted.sort_by(|a, b| b.area.total_cmp(&a.area));
    let total: f64 = wanted.iter().map(|w| w.area).sum();
    if total <= 0.0 {
        return None;
    }
    let shape = |n: u32| SHAPES.0 + (SHAPES.1 - SHAPES.0) * f64::from(n) / f64::from(TRIED - 1);
    let tried = (0..TRIED).map(|n| arranged(&wanted, total, shape(n)));
    let best = tried.reduce(|best, other| if other.spare > best.spare { other } else { best })?;
    let same_shape = (equipped.drum_volume / get("site.drum_volume_55_gallon")).max(0.0).cbrt();
    Some(FloorPlan {
        width: best.width,
        depth: best.depth,
        beds_fit: best.spare >= 0.0,
        rooms: best.rooms,
        drum_diameter: get("site.drum_diameter") * same_shape,
        drums: equipped.drums,
        drums_per_pallet: crate::quantity::whole(floor.drums_per_pallet) as usize,
        bed_width,
    })
}

/// Width and length of a bed: of the assumed width, or twice as long as wide where it is too small for that. # Units: m2 to m
fn bed_shape(area: f64, bed_width: f64) -> (f64, f64) {
    let width = bed_width.min((0.5 * area).sqrt());
    (width, area / width)
}

fn wanted(floor: &FloorFigures, equipped: &Equipped, bed_width: f64) -> Vec<Wanted> {
    let pallets = crate::quantity::whole(floor.pallets) as usize;
    let bed_area: f64 = equipped.beds.iter().map(|g| g.count as f64 * g.area).sum();
    let mut out = Vec::new();
    for FloorUse { name, net, gross, .. } in floor.uses.iter().filter(|u| u.gross > 0.0) {
        match *name {
            "beds" => out.extend(equipped.beds.iter().filter(|g| g.area > 0.0).map(|g| Wanted {
                name: g.name.clone(),
                contents: Contents::Beds,
                area: gross * g.count as f64 * g.area / bed_area,
                count: g.count,
                each: bed_shape(g.area, bed_width),
            })),
            super::floor::DRUMS if pallets > 0 => {
                let side = (net / pallets as f64).sqrt();
                let contents = Contents::Pallets;
                out.push(Wanted {
                    name: (*name).to_owned(),
                    contents,
                    area: *gross,
                    count: pallets,
                    each: (side, side),
                });
            }
            // in one piece, of the shape of its room
            _ => out.push(Wanted {
                name: (*name).to_owned(),
                contents: Contents::Goods,
                area: *gross,
                count: 1,
                each: (net.sqrt(), net.sqrt()),
            }),
        }
    }
    out
}

/// Rooms in a floor of one shape, and the narrowest way between beds of the assumed width; below zero where they do not fit.
struct Arranged {
    width: f64,
    depth: f64,
    rooms: Vec<FloorRoom>,
    spare: f64,
}

fn arranged(wanted: &[Wanted], total: f64, shape: f64) -> Arranged {
    let (width, depth) = ((total * shape).sqrt(), (total / shape).sqrt());
    let areas: Vec<f64> = wanted.iter().map(|w| w.area).collect();
    let places = packed(&areas, Rectangle { x: 0.0, y: 0.0, width, depth });
    let mut spare = f64::INFINITY;
    let rooms = wanted.iter().zip(places).map(|(w, room)| {
        let fitted = match w.contents {
            Contents::Goods => None,
            Contents::Beds => apart(room, w.count, w.each),
            Contents::Pallets => in_double_rows(room, w.count, w.each.0),
        };
        if w.contents == Contents::Beds {
            spare = spare.min(fitted.as_ref().map_or(-1.0, |(_, aisle)| *aisle));
        }
        let things =
            fitted.as_ref().map_or_else(|| alike(room, w.count, w.each), |(things, _)| things.clone());
        let aisle = fitted.filter(|_| w.count > 1).map(|(_, aisle)| aisle);
        FloorRoom { name: w.name.clone(), contents: w.contents, room, things, aisle }
    });
    let rooms = rooms.collect();
    Arranged { width, depth, rooms, spare }
}

/// Rectangles of these areas, the largest first, that fill a room and are as nearly square as they can be.
fn packed(areas: &[f64], mut room: Rectangle) -> Vec<Rectangle> {
    let mut out = Vec::with_capacity(areas.len());
    let mut rest = areas;
    while !rest.is_empty() {
        let side = room.width.min(room.depth);
        let row = (1..=rest.len())
            .take_while(|n| *n == 1 || worst(&rest[..*n], side) <= worst(&rest[..n - 1], side))
            .last()
            .unwrap_or(1);
        let (now, later) = rest.split_at(row);
        let thickness = now.iter().sum::<f64>() / side;
        // a row stands against the shorter side: turned, it is a column against the left wall
        let upright = room.depth <= room.width;
        let field = if upright { room } else { room.turned() };
        let mut y = field.y;
        for area in now {
            let place = Rectangle { x: field.x, y, width: thickness, depth: area / thickness };
            y += place.depth;
            out.push(if upright { place } else { place.turned() });
        }
        let left = Rectangle { x: field.x + thickness, width: (field.width - thickness).max(0.0), ..field };
        room = if upright { left } else { left.turned() };
        rest = later;
    }
    out
}

/// The longest side over the shortest of any rectangle of a row along a side.
fn worst(areas: &[f64], side: f64) -> f64 {
    let sum: f64 = areas.iter().sum();
    let of = |area: &f64| (side * side * area / (sum * sum)).max(sum * sum / (side * side * area));
    areas.iter().map(of).fold(0.0, f64::max)
}

/// Things each on its own floor, ways on all sides, and the narrowest way. None if they do not fit.
fn apart(room: Rectangle, count: usize, (width, length): (f64, f64)) -> Option<(Vec<Rectangle>, f64)> {
    let mut best: Option<(Vec<Rectangle>, f64)> = None;
    for columns in 1..=count {
        for (across, along) in [(width, length), (length, width)] {
            let rows = count.div_ceil(columns);
            let cell = (room.width / columns as f64, room.depth / rows as f64);
            let aisle = (cell.0 - across).min(cell.1 - along);
            if aisle >= 0.0 && best.as_ref().is_none_or(|(_, known)| aisle > *known) {
                best = Some((grid(room, count, columns, (across, along)), aisle));
            }
        }
    }
    best
}

/// So many equal things in the cells of a grid, each in the middle of its cell.
fn grid(room: Rectangle, count: usize, columns: usize, (width, depth): (f64, f64)) -> Vec<Rectangle> {
    let rows = count.div_ceil(columns);
    let cell = (room.width / columns as f64, room.depth / rows as f64);
    let at = |n: usize| Rectangle {
        x: room.x + cell.0 * ((n % columns) as f64 + 0.5) - 0.5 * width,
        y: room.y + cell.1 * ((n / columns) as f64 + 0.5) - 0.5 * depth,
        width,
        depth,
    };
    (0..count).map(at).collect()
}

/// Things that fill their cells in the shape of these: what is drawn where no shape is known, or none fits.
fn alike(room: Rectangle, count: usize, (width, length): (f64, f64)) -> Vec<Rectangle> {
    let columns = (1..=count)
        .min_by_key(|columns| {
            let cells = count.div_ceil(*columns) * columns;
            let square = (room.width / *columns as f64) / (room.depth / count.div_ceil(*columns) as f64);
            // few empty cells first, then cells that are nearly square, to a hundredth
            (cells, crate::quantity::whole((100.0 * square.ln().abs()).min(1e6)))
        })
        .unwrap_or(1);
    let cell = (room.width / columns as f64, room.depth / count.div_ceil(columns) as f64);
    let scale = (width * length / (cell.0 * cell.1)).sqrt();
    grid(room, count, columns, (scale * cell.0, scale * cell.1))
}

/// Square things in pairs of rows back to back, with a way beside each pair and at its ends, and the narrowest way. None if they do not fit.
fn in_double_rows(room: Rectangle, count: usize, side: f64) -> Option<(Vec<Rectangle>, f64)> {
    let mut best: Option<(Vec<Rectangle>, f64)> = None;
    for turned in [false, true] {
        let field = if turned { room.turned() } else { room };
        for in_row in 1..=count {
            let deep = if count > in_row { 2 } else { 1 };
            let blocks = count.div_ceil(deep * in_row);
            let block = field.width / blocks as f64;
            let (beside, ends) = (block - deep as f64 * side, field.depth - in_row as f64 * side);
            let aisle = beside.min(ends);
            if aisle < 0.0 || best.as_ref().is_some_and(|(_, known)| aisle <= *known) {
                continue;
            }
            let at = |n: usize| {
                let (pair, place) = (n / (deep * in_row), n % (deep * in_row));
                let thing = Rectangle {
                    x: field.x + block * pair as f64 + 0.5 * beside + (place % deep) as f64 * side,
                    y: field.y + 0.5 * ends + (place / deep) as f64 * side,
                    width: side,
                    depth: side,
                };
                if turned { thing.turned() } else { thing }
            };
            best = Some(((0..count).map(at).collect(), aisle));
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::literature;
    use crate::site_figures::floor::{self, FloorRates, Needs};

    fn get(key: &str) -> f64 {
        literature::central(key).expect("a rate")
    }

    fn planned(drums: usize, beds: &[(usize, f64)], drying: f64, curing: f64) -> (FloorFigures, FloorPlan) {
        let group = |(n, (count, area)): (usize, &(usize, f64))| BedGroup {
            name: format!("group {n}"),
            count: *count,
            area: *area,
        };
        let equipped =
            Equipped { beds: beds.iter().enumerate().map(group).collect(), drums, drum_volume: 0.208 };
        let needs = Needs {
            drums: drums as f64,
            drum_volume: 0.208,
            bed_area: beds.iter().map(|(count, area)| *count as f64 * area).sum(),
            drying_castings: drying,
            curing,
            machines: 2.0,
            ..Needs::default()
        };
        let figures = floor::floor(&needs, &FloorRates::from_values(&get));
        let plan = floor_plan(&figures, &equipped, &get).expect("a floor");
        (figures, plan)
    }

    fn inside(inner: &Rectangle, outer: &Rectangle) -> bool {
        let slack = 1e-9;
        inner.x >= outer.x - slack
            && inner.y >= outer.y - slack
            && inner.x + inner.width <= outer.x + outer.width + slack
            && inner.y + inner.depth <= outer.y + outer.depth + slack
    }

    fn overlap(a: &Rectangle, b: &Rectangle) -> f64 {
        let along = |x: f64, w: f64, y: f64, v: f64| ((x + w).min(y + v) - x.max(y)).max(0.0);
        along(a.x, a.width, b.x, b.width) * along(a.y, a.depth, b.y, b.depth)
    }

    #[test]
    fn areas_of_the_plan_are_those_counted_for_sites_of_any_size() {
        for (drums, beds, drying, curing) in [
            (84, vec![(20, 27.0)], 5000.0, 6.0),
            (75, vec![(12, 33.4), (4, 25.1)], 0.0, 2.0),
            (9, vec![(6, 2.0)], 80.0, 0.1),
            (1, vec![(1, 1.0)], 0.0, 0.0),
            (700, vec![(3, 200.0), (1, 5.0)], 900.0, 40.0),
            (0, vec![(1, 27.0)], 0.0, 0.0),
        ] {
            let (figures, plan) = planned(drums, &beds, drying, curing);
            let whole = Rectangle { x: 0.0, y: 0.0, width: plan.width, depth: plan.depth };
            assert!((whole.area() - figures.total).abs() < 1e-6 * figures.total);
            let gross: f64 = plan.rooms.iter().map(|r| r.room.area()).sum();
            let net: f64 = plan.rooms.iter().flat_map(|r| &r.things).map(Rectangle::area).sum();
            assert!((gross - figures.total).abs() < 1e-6 * figures.total);
            let counted: f64 = figures.uses.iter().map(|u| u.net).sum();
            assert!((net - counted).abs() < 1e-6 * counted, "{net} {counted}");
            for (n, r) in plan.rooms.iter().enumerate() {
                assert!(inside(&r.room, &whole), "{drums} drums: {r:?}");
                assert!(plan.rooms[n + 1..].iter().all(|o| overlap(&r.room, &o.room) < 1e-6));
                for (m, thing) in r.things.iter().enumerate() {
                    assert!(inside(thing, &r.room), "{drums} drums: {thing:?} in {r:?}");
                    assert!(r.things[m + 1..].iter().all(|o| overlap(thing, o) < 1e-6), "{r:?}");
                }
            }
            let of = |contents| plan.rooms.iter().filter(move |r| r.contents == contents);
            let shown: usize = of(Contents::Beds).map(|r| r.things.len()).sum();
            assert_eq!(shown, beds.iter().map(|b| b.0).sum::<usize>());
            let pallets: usize = of(Contents::Pallets).map(|r| r.things.len()).sum();
            assert_eq!(pallets, drums.div_ceil(4));
        }
    }

    #[test]
    fn beds_of_the_assumed_width_have_ways_between_them() {
        let (_, plan) = planned(84, &[(20, 27.0)], 5000.0, 6.0);
        let beds = plan.rooms.iter().find(|r| r.contents == Contents::Beds).unwrap();
        assert!(plan.beds_fit);
        let bed = beds.things[0];
        assert!((bed.width.min(bed.depth) - 1.8).abs() < 1e-9, "{bed:?}");
        assert!(beds.aisle.unwrap() > 1.0, "{:?}", beds.aisle);
    }

    #[test]
    fn a_floor_without_uses_has_no_plan() {
        let figures = floor::floor(&Needs::default(), &FloorRates::from_values(&get));
        let none = Equipped { beds: Vec::new(), drums: 0, drum_volume: 0.2 };
        assert_eq!(floor_plan(&figures, &none, &get), None);
    }
}
