//! What the columns of a table hold, told from their headings.
//!
//! A heading is compared letter by letter after everything but letters and digits is
//! dropped and a unit in it is set aside (`Center-X(mm)` → `centerx`, mm). Words come from
//! the lists in `docs/reading.md`; where several columns have one role, the order of the
//! words below is the order of trust (centre before reference point before pad 1).

use crate::number::Unit;
use std::collections::BTreeMap;

macro_rules! roles {
    ($($(#[$doc:meta])* $name:ident $word:literal: $($heading:literal)*;)*) => {
        /// What a column holds.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub(crate) enum Role { $($(#[$doc])* $name),* }

        impl Role {
            /// The key of the mapping file.
            pub(crate) const fn word(self) -> &'static str {
                match self { $(Self::$name => $word),* }
            }

            /// The role with this key.
            pub(crate) fn from_word(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$name),)* _ => None }
            }

            const HEADINGS: &'static [(Self, &'static [&'static str])] = &[$((Self::$name, &[$($heading),*])),*];
        }
    };
}

roles! {
    /// Reference designators: one in placement lists, a list of them in bills of materials.
    Reference "reference": "refdes" "designator" "designators" "referencedesignator" "referencedesignators" "refdesignator" "reference"
        "references" "ref" "refs" "referenz" "referenzen" "boardref" "customerreference" "reference(s)" "bezeichner" "repere" "repère"
        "riferimento" "referencia" "позиционноеобозначение" "позобозначение" "обозначение" "位号" "元件位号" "部品番号" "compref" "partref"
        "refid" "componentreference" "location" "part" "parts" "name" "component" "bauteil";
    /// Centre, X.
    X "x": "midx" "centerx" "centrex" "xcenter" "xcentre" "centroidx" "posx" "xpos" "positionx" "xposition" "locationx" "xlocation" "symx"
        "coordx" "xcoord" "xcoordinate" "xcoordinates" "mittex" "xmitte" "x" "координатаx" "坐标x" "中心x" "refx" "xref" "padx" "xpad";
    /// Centre, Y.
    Y "y": "midy" "centery" "centrey" "ycenter" "ycentre" "centroidy" "posy" "ypos" "positiony" "yposition" "locationy" "ylocation" "symy"
        "coordy" "ycoord" "ycoordinate" "ycoordinates" "mittey" "ymitte" "y" "координатаy" "坐标y" "中心y" "refy" "yref" "pady" "ypad";
    /// Rotation.
    Rotation "rotation": "rotation" "rot" "rotate" "angle" "symrotate" "orientation" "rotationdeg" "rotdeg" "theta" "drehung" "drehwinkel"
        "winkel" "rotacion" "rotación" "rotazione" "угол" "поворот" "уголповорота" "角度" "旋转" "旋转角度" "回転";
    /// Side of the board.
    Side "side": "side" "layer" "tb" "boardside" "mountside" "placementside" "boardlayer" "seite" "lage" "couche" "face" "cara" "lato"
        "сторона" "слой" "层" "板层" "面";
    /// Whether the part is mirrored, that is, on the bottom.
    Mirror "mirror": "mirror" "symmirror" "mirrored" "flip" "flipped" "gespiegelt" "spiegel";
    /// Electrical value, or what stands for it.
    Value "value": "value" "val" "compvalue" "wert" "valeur" "valor" "valore" "номинал" "значение" "值" "参数" "partvalue" "values" "partname"
        "comment" "name" "kommentar" "component";
    /// Package or footprint.
    Package "package": "package" "footprint" "pattern" "pcbfootprint" "comppackage" "packagereference" "packagename" "case" "casesize"
        "housing" "gehäuse" "gehause" "gehaeuse" "bauform" "boitier" "boîtier" "encapsulado" "корпус" "посадочноеместо" "封装" "pcbdecal"
        "decal" "landpattern" "symname" "geometry";
    /// Manufacturer's part number.
    Number "number": "manufacturerpartnumber" "manufacturerpartnumber1" "mfrpartnumber" "mfgpartnumber" "manufacturerpartno"
        "manufacturerpart" "manufacturerpn" "mfrpn" "mfgpn" "mfrpart" "mpn" "mpn1" "mfrno" "mfrpartno" "manfpartnumber" "mfpn" "herstellernummer"
        "herstellerteilenummer" "herstellerartikelnummer" "manufpartnumber" "orderingcode" "partnumber" "partno" "pn" "partnum"
        "teilenummer" "артикул" "制造商料号" "型号";
    /// A distributor's or in-house order number.
    Order "order-number": "ordernumber" "orderno" "ordercode" "supplierpartnumber" "supplierpartnumber1" "supplierpart" "supplierpartno"
        "distributorpartnumber" "digikey" "digikeypartnumber" "mouser" "mouserpartnumber" "lcsc" "lcscpart" "lcscpartnumber"
        "farnell" "codepartnumber" "bestellnummer" "artikelnummer" "sku" "stockcode" "internalpartnumber";
    /// Pieces on one board.
    Quantity "quantity": "quantity" "qty" "qnty" "quantityperpcb" "qtyperboard" "qtyboard" "quant" "menge" "anzahl" "stück" "stuck"
        "quantité" "quantite" "cantidad" "quantità" "количество" "колво" "数量" "count" "amount";
    /// Says yes where the part is placed.
    Fitted "fitted": "fitted" "place" "placeyesno" "placed" "populate" "populated" "mount" "mounted" "fit" "stuff" "stuffed" "assemble"
        "bestückt" "bestueckt" "bestücken" "install" "installed" "tobeassembled" "устанавливать";
    /// Says yes where the part is not placed.
    NotFitted "not-fitted": "dnp" "dnf" "dni" "dnm" "dns" "nopop" "donotpopulate" "donotplace" "donotfit" "donotinstall" "donotmount"
        "notfitted" "nichtbestückt" "неустанавливать";
    /// Variant, option or note on assembly.
    Option "option": "assy" "option" "options" "assemblyinfo" "assembly" "assemblynote" "variant" "variants" "config" "configuration"
        "status" "bestückung" "bestueckung" "note" "notes" "remark" "remarks" "bemerkung" "примечание" "备注";
    /// Text for people.
    Description "description": "description" "partdescription" "desc" "descr" "beschreibung" "bezeichnung" "descripción" "descrizione"
        "наименование" "描述" "details" "parttype" "compdevicetype" "devicetype" "device";
}

/// A heading that the engineer gives a role.
#[derive(Clone, Debug)]
pub(crate) struct Alias {
    /// As [`plain`] leaves it.
    pub(crate) heading: String,
    pub(crate) role: Role,
}

/// Columns by role, best first, and the unit their headings name.
#[derive(Clone, Debug, Default)]
pub(crate) struct Columns {
    by_role: BTreeMap<Role, Vec<usize>>,
    pub(crate) unit: Option<Unit>,
}

impl Columns {
    /// Reads a row of headings. A column has one role; a word that could name two (`name`,
    /// `part`) goes to the reference only when nothing better does. `aliases` are the
    /// engineer's headings, which go before all others.
    pub(crate) fn of(headings: &[String], aliases: &[Alias]) -> Self {
        let mut found: Vec<(bool, Role, usize, usize)> = Vec::new();
        let mut units = Vec::new();
        for (column, text) in headings.iter().enumerate() {
            let (word, unit) = plain(text);
            if word.is_empty() {
                continue;
            }
            let alias = aliases.iter().filter(|a| a.heading == word).map(|a| (a.role, 0));
            let known = Role::HEADINGS.iter().filter_map(|(role, words)| Some((*role, 1 + words.iter().position(|w| *w == word)?)));
            for (role, rank) in alias.chain(known) {
                found.push((rank > 0, role, rank, column));
                if matches!(role, Role::X | Role::Y) {
                    units.extend(unit);
                }
            }
        }
        found.sort_unstable();
        let mut columns = Self { unit: units.first().copied().filter(|u| units.iter().all(|v| v == u)), ..Self::default() };
        let mut taken = vec![false; headings.len()];
        for (_, role, _, column) in found {
            // The reference is one column: of two candidates the weaker is free for another role.
            let full = role == Role::Reference && columns.has(role);
            if !taken[column] && !full {
                taken[column] = true;
                columns.by_role.entry(role).or_default().push(column);
            }
        }
        columns
    }

    /// Puts `role` on `column`, in front of what was found.
    pub(crate) fn set(&mut self, role: Role, column: usize) {
        for columns in self.by_role.values_mut() {
            columns.retain(|c| *c != column);
        }
        self.by_role.retain(|_, columns| !columns.is_empty());
        self.by_role.entry(role).or_default().insert(0, column);
    }

    pub(crate) fn has(&self, role: Role) -> bool {
        self.by_role.contains_key(&role)
    }

    /// The columns of a role, best first.
    pub(crate) fn of_role(&self, role: Role) -> &[usize] {
        self.by_role.get(&role).map_or(&[], Vec::as_slice)
    }

    /// How many roles were found.
    pub(crate) fn count(&self) -> usize {
        self.by_role.len()
    }

    /// Every role and its first column.
    pub(crate) fn firsts(&self) -> impl Iterator<Item = (Role, usize)> + '_ {
        self.by_role.iter().filter_map(|(role, columns)| Some((*role, *columns.first()?)))
    }

    pub(crate) fn is_placements(&self) -> bool {
        self.has(Role::Reference) && self.has(Role::X) && self.has(Role::Y)
    }

    pub(crate) fn is_bom(&self) -> bool {
        let known =
            [Role::Value, Role::Package, Role::Number, Role::Order, Role::Quantity, Role::Fitted, Role::NotFitted, Role::Description];
        self.has(Role::Reference) && known.iter().any(|r| self.has(*r)) && !self.has(Role::X)
    }
}

/// A heading without blanks, marks and unit, and the unit.
pub(crate) fn plain(heading: &str) -> (String, Option<Unit>) {
    let lower = heading.to_lowercase();
    let mut unit = None;
    let mut word = String::new();
    for piece in lower.split(['(', ')', '[', ']', '{', '}', '/']) {
        match Unit::from_word(piece.trim()) {
            Some(u) if !word.is_empty() => unit = Some(u),
            _ => word.extend(piece.chars().filter(|c| c.is_alphanumeric())),
        }
    }
    if unit.is_none()
        && let Some(u) =
            [("mm", Unit::Mm), ("mil", Unit::Mil), ("mils", Unit::Mil), ("inch", Unit::Inch), ("um", Unit::Um)].iter().find_map(|(s, u)| {
                let rest = word.strip_suffix(s)?;
                (rest.ends_with(['x', 'y'])).then(|| (rest.to_owned(), *u))
            })
    {
        return (u.0, Some(u.1));
    }
    (word, unit)
}

/// What a name stands for where it is no heading: of a property, say.
pub(crate) fn role_of(name: &str) -> Option<Role> {
    let word = plain(name).0;
    Role::HEADINGS.iter().find(|(_, words)| words.contains(&word.as_str())).map(|(role, _)| *role)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn columns(text: &str) -> Columns {
        Columns::of(&text.split('|').map(str::to_owned).collect::<Vec<_>>(), &[])
    }

    #[test]
    fn headings_of_many_lists() {
        let c = columns("Designator|Comment|Layer|Footprint|Center-X(mm)|Center-Y(mm)|Rotation|Description");
        assert_eq!((c.of_role(Role::X), c.unit, c.is_placements()), (&[4][..], Some(Unit::Mm), true));
        let c = columns("Designator|Footprint|Mid X|Mid Y|Ref X|Ref Y|Pad X|Pad Y|TB|Rotation|Comment");
        assert_eq!(c.of_role(Role::X), [2, 4, 6]);
        assert_eq!(c.of_role(Role::Side), [8]);
        let c = columns("RefDes|Name|Pattern|Center X (mm)|Center Y (mm)|Side|Rotate|Value");
        assert_eq!((c.of_role(Role::Reference), c.of_role(Role::Value)), (&[0][..], &[7, 1][..]));
        let c = columns("Part|Value|Package|Qty|Place (YES/NO)|Order Number");
        assert!(c.is_bom() && c.has(Role::Fitted) && c.of_role(Role::Reference) == [0]);
        let c = columns("Bauteil|Wert|Gehäuse|X [mm]|Y [mm]|Drehung|Seite");
        assert!(c.is_placements() && c.unit == Some(Unit::Mm));
    }
}
