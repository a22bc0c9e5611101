//! Product documents: the program's own file of a product, as JSON.

use diag::{Finding, codes::read as code};
use domain::product::{Product, SCHEMA, Status};
use serde::Deserialize;
use std::collections::BTreeSet;

/// Reads a product document.
///
/// # Errors
/// Findings `read.product-…`: no JSON of a product, another version, or a contradiction.
pub fn read_product(name: &str, text: &str) -> Result<Product, Vec<Finding>> {
    #[derive(Deserialize)]
    struct Head {
        schema: String,
    }
    let syntax = |e: &serde_json::Error| {
        vec![Finding::new(code::PRODUCT_SYNTAX, format!("the file is no product document: {e}")).at(name, e.line() as u32)]
    };
    // The version first: another version may have other fields.
    let head: Head = serde_json::from_str(text).map_err(|e| syntax(&e))?;
    if head.schema != SCHEMA {
        let message = format!("the document is `{}`, this version reads `{SCHEMA}`", head.schema);
        return Err(vec![Finding::new(code::PRODUCT_SCHEMA, message).at(name, 1).value(head.schema)]);
    }
    let product: Product = serde_json::from_str(text).map_err(|e| syntax(&e))?;
    let wrong = contradictions(&product);
    if wrong.is_empty() { Ok(product) } else { Err(wrong.into_iter().map(|f| f.at(name, 0)).collect()) }
}

/// The product as a document.
///
/// # Errors
/// Only if the JSON writer itself fails, which it does not for this type.
pub fn write_product(product: &Product) -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(product).map(|text| text + "\n")
}

/// Lengths beyond this are no board's [µm].
const FARTHEST: i64 = 10_000_000;

fn contradictions(product: &Product) -> Vec<Finding> {
    let mut wrong = Vec::new();
    let mut add = |value: &str, message: String| wrong.push(Finding::new(code::PRODUCT_INVALID, message).value(value));
    let size = [product.width_um, product.depth_um];
    if size.iter().any(|s| s.0 <= 0 || s.0 > FARTHEST) {
        add("width_um, depth_um", format!("the board is {} x {}", product.width_um, product.depth_um));
    }
    let mut numbers = BTreeSet::new();
    for part in &product.parts {
        if part.number.is_empty() || !numbers.insert(&part.number) {
            add(&part.number, format!("the part number `{}` is empty or stands twice", part.number));
        }
        let sides = [part.body_x_um.value.0, part.body_y_um.value.0, part.height_um.value.0];
        if sides.iter().any(|s| *s < 0 || *s > FARTHEST) || !(1..=100).contains(&part.speed.value.0) {
            add(&part.number, format!("the part `{}` has a size or speed that cannot be", part.number));
        }
    }
    for placement in &product.placements {
        let known = placement.part.map(|id| id.index() < product.parts.len());
        if known == Some(false) || (known.is_none() && placement.status != Status::Ignored) {
            add(&placement.reference, format!("the placement `{}` is of a part that is not listed", placement.reference));
        }
        if placement.at.x.0.abs() > FARTHEST || placement.at.y.0.abs() > FARTHEST {
            add(&placement.reference, format!("the placement `{}` lies metres away", placement.reference));
        }
        if placement.rotation_mdeg != placement.rotation_mdeg.normalised() {
            add(&placement.reference, format!("the rotation of `{}` is not in 0 to 360°", placement.reference));
        }
    }
    wrong
}
