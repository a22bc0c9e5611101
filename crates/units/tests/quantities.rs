//! Reading and printing quantities.

use proptest::prelude::*;
use units::{Acceleration, Length, Speed, Time};

#[test]
fn lengths_are_read_in_every_accepted_unit() {
    for (text, um) in
        [("8 mm", 8_000), ("8mm", 8_000), ("0.25in", 6_350), ("1 mil", 25), ("-3.5 mm", -3_500), ("12 um", 12), ("1e-1 m", 100_000)]
    {
        assert_eq!(text.parse::<Length>().unwrap().0, um, "{text}");
    }
    assert_eq!("2 m/s".parse::<Speed>().unwrap().0, 2_000_000);
    assert_eq!("25 m/s2".parse::<Acceleration>().unwrap().0, 25_000_000);
    assert_eq!("80 ms".parse::<Time>().unwrap(), Time::from_ms(80));
}

#[test]
fn a_missing_or_foreign_unit_is_named_with_the_cure() {
    let none = "8".parse::<Length>().unwrap_err().to_string();
    assert_eq!(none, "`8` has no unit: write one of mm, um, µm, μm, cm, m, in, inch, mil, thou");
    let foreign = "8 s".parse::<Length>().unwrap_err().to_string();
    assert!(foreign.starts_with("`s` is not a unit of length"), "{foreign}");
    assert!("NaN mm".parse::<Length>().is_err());
    assert!("1e99 mm".parse::<Length>().is_err());
}

proptest! {
    #[test]
    fn printing_and_reading_gives_the_same_length(um in -1_000_000_000i64..1_000_000_000) {
        prop_assert_eq!(Length(um).to_string().parse::<Length>().unwrap(), Length(um));
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in ".{0,40}") {
        let _ = text.parse::<Length>();
        let _ = text.parse::<Time>();
    }
}
