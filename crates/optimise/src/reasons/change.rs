//! What could be otherwise: one more of something on the line, or one rule less.

use domain::line::{BankMount, Head, Line, Station, StationKind, TrayKind};
use domain::rules::{OrderRule, Rules};
use units::{Length, Text};

/// A change of a line or of its rules whose worth is asked. Numbers are indices into the lists of the
/// line or of the rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// One more slot on a bank.
    Slot {
        /// Station.
        station: usize,
        /// Its bank.
        bank: usize,
    },
    /// One more tray place like this one, or one more level of a magazine.
    TrayPlace {
        /// Station.
        station: usize,
        /// Its tray place.
        tray: usize,
    },
    /// One more nozzle of a kind in stock.
    Nozzle {
        /// Kind of nozzle.
        kind: usize,
    },
    /// One more feeder of a kind in stock.
    Feeder {
        /// Kind of feeder.
        kind: usize,
    },
    /// A head that another station has, at this station too.
    Head {
        /// Station that gets it.
        station: usize,
        /// Station that has it.
        like: usize,
        /// The head there.
        head: usize,
    },
    /// A nozzle rack like that of another station.
    Rack {
        /// Station that gets it.
        station: usize,
        /// Station that has one.
        like: usize,
    },
    /// One more station like this one, right behind it, with its own carts.
    Station {
        /// The station.
        like: usize,
    },
    /// No order rule but what the engineer states.
    OrderRule,
    /// Without one of the engineer's orders.
    Order {
        /// Which.
        order: usize,
    },
    /// Without one of the engineer's locks.
    Lock {
        /// Which.
        lock: usize,
    },
    /// Without one of the engineer's prohibitions.
    Forbid {
        /// Which.
        forbid: usize,
    },
}

/// All changes that make sense for a line under rules; of alike ones, one.
pub fn changes(line: &Line, rules: &Rules) -> Vec<Change> {
    let stations = 0..line.station.len();
    let mut list: Vec<Change> = Vec::new();
    list.extend(
        stations.clone().filter(|s| (0..*s).all(|o| !alike(&line.station[o], &line.station[*s]))).map(|like| Change::Station { like }),
    );
    for station in stations {
        list.extend(heads(line, station));
        let here = &line.station[station];
        let rack = line.station.iter().position(|s| s.nozzle_rack.is_some());
        if let (None, Some(like), false) = (&here.nozzle_rack, rack, here.kind == StationKind::Turret) {
            list.push(Change::Rack { station, like });
        }
        let roomiest = (0..here.bank.len()).max_by_key(|b| (here.bank[*b].slots, std::cmp::Reverse(*b)));
        list.extend(roomiest.map(|bank| Change::Slot { station, bank }));
        // A level more costs least where there is a magazine.
        let tray = here.tray.iter().position(|t| t.kind == TrayKind::Magazine).or(here.tray.len().checked_sub(1));
        list.extend(tray.map(|tray| Change::TrayPlace { station, tray }));
    }
    list.extend((0..line.nozzle.len()).map(|kind| Change::Nozzle { kind }));
    list.extend((0..line.feeder.len()).map(|kind| Change::Feeder { kind }));
    if rules.order_rule() != OrderRule::None {
        list.push(Change::OrderRule);
    }
    list.extend((0..rules.order.len()).map(|order| Change::Order { order }));
    list.extend((0..rules.lock.len()).map(|lock| Change::Lock { lock }));
    list.extend((0..rules.forbid.len()).map(|forbid| Change::Forbid { forbid }));
    list
}

/// Heads of other stations that a station could swap in, too; one of each make.
fn heads(line: &Line, station: usize) -> Vec<Change> {
    let here = &line.station[station];
    if here.kind != StationKind::Gantry {
        return Vec::new();
    }
    let mut known: Vec<Head> = here.head.iter().map(nameless).collect();
    let mut found = Vec::new();
    for (like, other) in line.station.iter().enumerate().filter(|(s, o)| *s != station && o.kind == StationKind::Gantry) {
        // Without a figure for the swap nothing can be said.
        if here.head_swap.is_none() && other.head_swap.is_none() {
            continue;
        }
        for (head, sheet) in other.head.iter().enumerate() {
            if !known.contains(&nameless(sheet)) {
                known.push(nameless(sheet));
                found.push(Change::Head { station, like, head });
            }
        }
    }
    found
}

fn nameless(head: &Head) -> Head {
    Head { name: String::new(), ..head.clone() }
}

fn alike(a: &Station, b: &Station) -> bool {
    Station { name: String::new(), ..a.clone() } == Station { name: String::new(), ..b.clone() }
}

/// A name that the others do not have yet.
fn new_name<'n>(wanted: &str, taken: impl Iterator<Item = &'n String> + Clone) -> String {
    let mut k = 2;
    let mut name = wanted.to_owned();
    while taken.clone().any(|t| *t == name) {
        name = format!("{wanted} {k}");
        k += 1;
    }
    name
}

impl Change {
    /// What it is, as the subject of a sentence, with its verb: `is worth` or `costs`.
    pub fn words(self, line: &Line, rules: &Rules) -> (String, &'static str) {
        let station = |s: usize| format!("`{}`", line.station[s].name);
        let gain = |text: String| (text, "is worth");
        let cost = |text: String| (text, "costs");
        match self {
            Self::Slot { station: s, bank } => {
                gain(format!("One more slot on bank `{}` of {}", line.station[s].bank[bank].name, station(s)))
            }
            Self::TrayPlace { station: s, tray } => {
                let place = &line.station[s].tray[tray];
                let what = if place.kind == TrayKind::Magazine { "level of the magazine" } else { "tray place like" };
                gain(format!("One more {what} `{}` at {}", place.name, station(s)))
            }
            Self::Nozzle { kind } => gain(format!("One more nozzle `{}`", line.nozzle[kind].name)),
            Self::Feeder { kind } => gain(format!("One more feeder `{}`", line.feeder[kind].name)),
            Self::Head { station: s, like, head } => {
                gain(format!("A head like `{}` of {} at {} too", line.station[like].head[head].name, station(like), station(s)))
            }
            Self::Rack { station: s, .. } => gain(format!("A nozzle rack at {}", station(s))),
            Self::Station { like } => gain(format!("One more station like {}", station(like))),
            Self::OrderRule => cost(format!("The order rule `{}`", rules.order_rule())),
            Self::Order { order } => {
                let o = &rules.order[order];
                cost(format!("The order of {} before {}", o.first.join(", "), o.then.join(", ")))
            }
            Self::Lock { lock } => cost(format!("The lock of `{}`", rules.lock[lock].part)),
            Self::Forbid { forbid } => {
                let f = &rules.forbid[forbid];
                cost(format!("Keeping `{}` away from `{}`", f.part, f.station))
            }
        }
    }

    /// Line and rules with the change.
    pub fn carried_out(self, line: &Line, rules: &Rules) -> (Line, Rules) {
        let (mut line, mut rules) = (line.clone(), rules.clone());
        match self {
            Self::Slot { station, bank } => line.station[station].bank[bank].slots += 1,
            Self::TrayPlace { station, tray } => one_more_tray(&mut line.station[station], tray),
            Self::Nozzle { kind } => line.nozzle[kind].stock += 1,
            Self::Feeder { kind } => line.feeder[kind].stock += 1,
            Self::Head { station, like, head } => {
                let mut new = line.station[like].head[head].clone();
                new.name = new_name(&new.name, line.station[station].head.iter().map(|h| &h.name));
                let swap = line.station[like].head_swap.clone();
                let here = &mut line.station[station];
                here.head.push(new);
                here.head_swap = here.head_swap.take().or(swap);
            }
            Self::Rack { station, like } => line.station[station].nozzle_rack = line.station[like].nozzle_rack.clone(),
            Self::Station { like } => {
                let mut new = line.station[like].clone();
                new.name = new_name(&new.name, line.station.iter().map(|s| &s.name));
                for bank in new.bank.iter().filter(|b| b.mount == BankMount::Cart) {
                    line.cart.iter_mut().filter(|c| Some(&c.name) == bank.cart.as_ref()).for_each(|c| c.stock += 1);
                }
                line.station.insert(like + 1, new);
            }
            Self::OrderRule => rules.order_rule = Some(OrderRule::None),
            Self::Order { order } => drop(rules.order.remove(order)),
            Self::Lock { lock } => drop(rules.lock.remove(lock)),
            Self::Forbid { forbid } => drop(rules.forbid.remove(forbid)),
        }
        (line, rules)
    }

    /// For a station of the changed line: the station of the old line whose times tell its own.
    pub(super) fn old_station(self, s: usize) -> usize {
        match self {
            Self::Station { like } if s > like => s - 1,
            _ => s,
        }
    }
}

fn one_more_tray(station: &mut Station, tray: usize) {
    if station.tray[tray].kind == TrayKind::Magazine {
        let place = &mut station.tray[tray];
        place.levels = Some(place.levels() + 1);
        return;
    }
    let mut new = station.tray[tray].clone();
    new.name = new_name(&new.name, station.tray.iter().map(|t| &t.name));
    // Beside the one it is like.
    new.at.x = Text(Length(new.at.x.0.0 + 140_000));
    station.tray.push(new);
}
