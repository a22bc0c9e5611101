//! Which side of the board: from a word, a file name, a line of prose.

use domain::product::Side;

/// The side a cell names.
pub(crate) fn from_word(text: &str) -> Option<Side> {
    let word: String = text.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect();
    Some(match word.as_str() {
        "t" | "top" | "toplayer" | "topside" | "f" | "front" | "fcu" | "fronttop" | "1" | "l1" | "layer1" | "componentside" | "cs"
        | "primary" | "oben" | "vorne" | "верх" | "верхний" | "dessus" | "haut" | "arriba" | "顶层" | "顶面" | "正面" | "comp"
        | "component" => Side::Top,
        "b" | "bot" | "bottom" | "bottomlayer" | "bottomside" | "bcu" | "back" | "2" | "l2" | "layer2" | "solderside" | "ss"
        | "secondary" | "unten" | "hinten" | "низ" | "нижний" | "dessous" | "bas" | "abajo" | "底层" | "底面" | "反面" | "solder" => {
            Side::Bottom
        }
        _ => return None,
    })
}

/// The side a mirror flag means; a blank cell means not mirrored.
pub(crate) fn from_mirror(text: &str) -> Option<Side> {
    Some(match text.to_lowercase().trim() {
        "yes" | "y" | "true" | "1" | "m" | "mirrored" | "mirror" | "ja" | "да" => Side::Bottom,
        "" | "no" | "n" | "false" | "0" | "none" | "-" | "nein" | "нет" => Side::Top,
        _ => return None,
    })
}

/// The side the name of a file tells: a word in it, or the ending of the pair `.mnt`/`.mnb`.
pub(crate) fn from_name(name: &str) -> Option<Side> {
    let lower = name.to_lowercase();
    match lower.rsplit_once('.').map(|(_, ending)| ending) {
        Some("mnt") => return Some(Side::Top),
        Some("mnb") => return Some(Side::Bottom),
        _ => {}
    }
    let mut sides = lower.split(|c: char| !c.is_alphanumeric()).filter_map(|word| match word {
        "top" | "toplayer" | "topside" | "front" | "oben" => Some(Side::Top),
        "bottom" | "bot" | "bottomlayer" | "bottomside" | "back" | "unten" => Some(Side::Bottom),
        _ => None,
    });
    let first = sides.next()?;
    sides.all(|s| s == first).then_some(first)
}

/// The side a line of prose states (`## Side : bottom`).
pub(crate) fn from_prose(line: &str) -> Option<Side> {
    let (label, value) = line.split_once([':', '='])?;
    let label: String = label.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect();
    matches!(label.as_str(), "side" | "layer" | "seite" | "boardside" | "сторона").then(|| from_word(value)).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sides_in_all_spellings() {
        for top in ["T", "Top", "TopLayer", "F.Cu", "top ", "Oben", "1"] {
            assert_eq!(from_word(top), Some(Side::Top), "{top}");
        }
        for bottom in ["B", "BottomLayer", "Bot", "B.Cu", "bottom side", "Back"] {
            assert_eq!(from_word(bottom), Some(Side::Bottom), "{bottom}");
        }
        assert_eq!(
            (from_mirror("YES"), from_mirror("NO"), from_mirror("m"), from_mirror("?")),
            (Some(Side::Bottom), Some(Side::Top), Some(Side::Bottom), None)
        );
        assert_eq!(
            (from_name("board.mnb"), from_name("x-top-pos.csv"), from_name("top and bottom.csv")),
            (Some(Side::Bottom), Some(Side::Top), None)
        );
        assert_eq!((from_prose("## Side : bottom"), from_prose("## Side : All")), (Some(Side::Bottom), None));
    }
}
