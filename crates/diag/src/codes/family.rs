//! Findings about families: several products that share one set-up.

codes! {
    SYNTAX = "family.syntax" Error: "The family file is not well-formed TOML, or a value has the wrong type.",
        sample "demand = many", cure "Correct the line named; docs/families.md lists every key.";
    UNKNOWN_KEY = "family.unknown-key" Error: "A key of the family file is not known.",
        sample "demnad = 120", cure "Correct the spelling, or remove the key; docs/families.md lists every key.";
    SCHEMA = "family.schema" Error: "The family file is of another format or version.",
        sample "schema = \"evenline-family/9\"", cure "Use the version this program reads; `evenline schema family` prints it.";
    EMPTY = "family.empty" Error: "The family has no product, or a product has no file or no demand.",
        sample "demand = 0", cure "Name at least one [[product]] with its files and the boards wanted.";
    NAME_TWICE = "family.name-twice" Error: "Two products of the family have the same name.",
        sample "two [[product]] with name = \"gauge node\"", cure "Give each its own name.";
    PART_DIFFERS = "family.part-differs" Warning: "Products of the family say different things of one part number; a shared feeder can hold one thing only.",
        sample "RG-C04-100N on 8 mm tape in one product, on 12 mm tape in another", cure "State the values once in a parts table that all products name.";
    PLAN_SYNTAX = "family.plan-syntax" Error: "The file is not a family plan, or it is cut short.",
        sample "a family plan cut in half", cure "Plan the family again, or restore the file from a copy.";
    PLAN_SCHEMA = "family.plan-schema" Error: "The family plan is of another version.",
        sample "\"schema\": \"evenline-family-plan/9\"", cure "Plan the family again with this version.";
    LEFT_OUT = "family.left-out" Error: "A product of the family cannot be planned, so there is no shared set-up.",
        sample "a product whose panel no station takes", cure "See the findings of that product, or take it out of the family.";
}
