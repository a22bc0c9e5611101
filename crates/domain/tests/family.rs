//! Family files, and one list of parts for all products.

use domain::family::parts::share_parts;
use domain::family::{FamilySheet, panels};
use domain::job::Panel;
use domain::part::{Certainty, Mount, NozzleClass, Part, Source, Sourced, SpeedPercent, Supply};
use domain::product::{PartId, Placement, Product, SCHEMA, Side, Status};
use units::{Angle, Length, Point};

const HEAD: &str = "schema = \"evenline-family/1\"\nname = \"gauges\"\n";

/// The codes that a file is refused with.
fn refused(text: &str) -> Vec<String> {
    FamilySheet::parse("gauges.toml", text).unwrap_err().into_iter().map(|f| f.code).collect()
}

#[test]
fn a_family_file_is_read() {
    let text = format!(
        "{HEAD}[[product]]\nname = \"node\"\nfiles = [\"a\"]\ndemand = 12\nside = \"bottom\"\n\
         panel = {{ columns = 2, rows = 3, pitch_x = \"64 mm\", pitch_y = \"44 mm\" }}\n[[product]]\nfiles = [\"b.csv\", \"c.csv\"]\ndemand = 1\n"
    );
    let sheet = FamilySheet::parse("gauges.toml", &text).unwrap();
    let node = &sheet.product[0];
    assert_eq!((node.demand, node.side), (12, Some(Side::Bottom)));
    let panel: Panel = node.panel.unwrap().into();
    assert_eq!((panel.images(), panel.pitch_y_um), (6, Length(44_000)));
    assert_eq!(sheet.product[1].files, ["b.csv", "c.csv"]);
}

#[test]
fn what_is_wrong_is_named() {
    assert_eq!(refused("schema = \"evenline-family/9\"\nname = \"gauges\"\n"), ["family.schema"]);
    assert_eq!(refused(HEAD), ["family.empty"]);
    assert_eq!(refused(&format!("{HEAD}[[product]]\nfiles = []\ndemand = 0\n")), ["family.empty", "family.empty"]);
    assert_eq!(refused(&format!("{HEAD}[[product]]\nfiles = [\"a\"]\ndemand = 1000000001\n")), ["family.empty"]);
    let twice = "[[product]]\nname = \"node\"\nfiles = [\"a\"]\ndemand = 1\n";
    assert_eq!(refused(&format!("{HEAD}{twice}{twice}")), ["family.name-twice"]);
    assert_eq!(refused(&format!("{HEAD}[[product]]\nfiles = [\"a\"]\ndemand = \"many\"\n")), ["family.syntax"]);
    let found = FamilySheet::parse("gauges.toml", &format!("{HEAD}[[product]]\nfiles = [\"a\"]\ndemnad = 3\n")).unwrap_err();
    assert_eq!((found[0].code.as_str(), found[0].line, found[0].value.as_str()), ("family.unknown-key", 5, "demnad"));
    assert!(found[0].hint.contains("demand"), "{}", found[0].hint);
}

#[test]
fn panels_hold_all_boards() {
    let six = Panel { columns: 2, rows: 3, pitch_x_um: Length(1), pitch_y_um: Length(1), ..Panel::SINGLE };
    assert_eq!((panels(12, &six), panels(13, &six), panels(1, &six), panels(5, &Panel::SINGLE)), (2, 3, 1, 5));
}

fn part(number: &str, source: Source, tape: i64) -> Part {
    fn by<T>(source: Source, value: T) -> Sourced<T> {
        Sourced::new(value, source, Certainty::Certain)
    }
    Part {
        number: number.to_owned(),
        value: String::new(),
        package: String::new(),
        mount: by(source, Mount::Smt),
        body_x_um: by(source, Length(1_000)),
        body_y_um: by(source, Length(500)),
        height_um: by(source, Length(500)),
        supply: by(source, Supply::Tape),
        tape_width_um: by(source, Length(tape)),
        tape_pitch_um: by(source, Length(4_000)),
        tray_pockets: by(source, 10),
        tray_height_um: by(source, Length(6_350)),
        nozzle_class: by(source, NozzleClass::Tiny),
        speed: by(source, SpeedPercent(100)),
        accuracy_um: by(source, Length(50)),
        ball_grid: by(source, false),
        shield: by(source, false),
        adhesive_dots: by(source, 0),
        handling: domain::part::Handling::default(),
    }
}

fn product(name: &str, parts: Vec<Part>) -> Product {
    let row = |k: usize| Placement {
        reference: format!("C{k}"),
        part: Some(PartId(k as u32)),
        at: Point::from_um(0, 0),
        rotation_mdeg: Angle(0),
        side: Side::Top,
        status: Status::Fitted,
        why: String::new(),
        origin: String::new(),
    };
    Product {
        schema: SCHEMA.to_owned(),
        name: name.to_owned(),
        width_um: Length(10_000),
        depth_um: Length(10_000),
        size_stated: true,
        placements: (0..parts.len()).map(row).collect(),
        parts,
        fiducials: Vec::new(),
    }
}

#[test]
fn products_share_one_list_of_parts() {
    let a = product("a", vec![part("RG-1", Source::Name, 8_000), part("RG-3", Source::Name, 8_000)]);
    let b = product("b", vec![part("RG-2", Source::Name, 8_000), part("RG-3", Source::Name, 8_000)]);
    let mut both = [a.clone(), b.clone()];
    assert!(share_parts(&mut both).is_empty());
    let numbers: Vec<&str> = both[0].parts.iter().map(|p| p.number.as_str()).collect();
    assert_eq!(numbers, ["RG-1", "RG-2", "RG-3"]);
    assert_eq!(both[0].parts, both[1].parts);
    // Every placement still has the part it had.
    for (before, after) in [a, b].iter().zip(&both) {
        for (x, y) in before.placements.iter().zip(&after.placements) {
            assert_eq!(before.parts[x.part.unwrap().index()].number, after.parts[y.part.unwrap().index()].number);
        }
    }
}

#[test]
fn what_the_engineer_stated_counts_and_is_told() {
    let guessed = product("guessed", vec![part("RG-1", Source::Name, 8_000)]);
    let stated = product("stated", vec![part("RG-1", Source::Engineer, 12_000)]);
    let mut both = [guessed, stated];
    let found = share_parts(&mut both);
    assert_eq!(both[0].parts[0].tape_width_um.value, Length(12_000));
    assert_eq!((found.len(), found[0].code.as_str(), found[0].value.as_str()), (1, "family.part-differs", "RG-1"));
    assert!(found[0].message.starts_with("guessed says other things"), "{}", found[0].message);
}
