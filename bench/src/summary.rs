//! Tables of a campaign's runs, in Markdown.

use crate::row::Row;
use std::collections::{BTreeMap, BTreeSet};

/// The middle of values; the upper one of two. 0 for none.
pub fn median(values: impl IntoIterator<Item = f64>) -> f64 {
    quantile(values, 0.5)
}

fn quantile(values: impl IntoIterator<Item = f64>, share: f64) -> f64 {
    let mut v: Vec<f64> = values.into_iter().collect();
    v.sort_by(f64::total_cmp);
    if v.is_empty() { 0.0 } else { v[((v.len() - 1) as f64 * share).round() as usize] }
}

fn planned(rows: &[Row]) -> impl Iterator<Item = &Row> {
    rows.iter().filter(|r| r.outcome == "planned")
}

fn limit(r: &Row) -> String {
    let limit = r.seconds.map_or_else(|| format!("{} moves", r.work.unwrap_or(0)), |s| format!("{s} s"));
    format!("{limit}, {} thr.", r.threads)
}

/// One row per version, suite and limit: the lasting memory of the bench. `suite` names the list of an instance.
pub fn versions(rows: &[Row], suite: &dyn Fn(&str) -> &'static str) -> String {
    let mut groups: BTreeMap<(String, &'static str, String), Vec<&Row>> = BTreeMap::new();
    for r in planned(rows) {
        groups.entry((r.version.clone(), suite(&r.instance), limit(r))).or_default().push(r);
    }
    let mut text = "| version | suite | limit | runs | seeds | median gap [%] | 9 in 10 below | worst | shorter than by hand [%] | first plan, worst [ms] | to 1 %, median [s] | memory, worst [MiB] | moves/s, median | accepted |\n\
                    |---|---|---|---|---|---|---|---|---|---|---|---|---|---|\n"
        .to_owned();
    for ((version, suite, limit), rows) in groups {
        let of = |f: fn(&Row) -> Option<f64>| rows.iter().filter_map(|r| f(r)).collect::<Vec<_>>();
        let gaps = of(|r| r.gap_percent);
        let gains = of(|r| Some(100.0 * (1.0 - r.takt_s? / r.hand_s.filter(|h| *h > 0.0)?)));
        let worst = |v: Vec<f64>| v.into_iter().fold(0.0, f64::max);
        let seeds: BTreeSet<u64> = rows.iter().map(|r| r.seed).collect();
        text += &format!(
            "| {version} | {suite} | {limit} | {} | {} | {:.2} | {:.2} | {:.2} | {:.1} | {:.0} | {:.2} | {:.0} | {:.0} | {} of {} |\n",
            rows.len(),
            seeds.len(),
            median(gaps.clone()),
            quantile(gaps.clone(), 0.9),
            worst(gaps),
            median(gains),
            worst(of(|r| r.first_plan_ms)),
            median(of(|r| r.to_1_percent_s)),
            worst(of(|r| r.peak_mib)),
            median(of(|r| r.moves_per_s)),
            rows.iter().filter(|r| r.accepted == Some(true)).count(),
            rows.len(),
        );
    }
    text
}

/// One row per instance of one version and limit: the median over its seeds.
pub fn instances(rows: &[Row], version: &str) -> String {
    let mut groups: BTreeMap<(String, String), Vec<&Row>> = BTreeMap::new();
    for r in planned(rows).filter(|r| r.version == version) {
        groups.entry((limit(r), r.instance.clone())).or_default().push(r);
    }
    let mut text = "| limit | instance | placed | not placed | by hand [s] | takt [s] | bound [s] | gap [%] | spread over seeds [%] | to 1 % [s] | MiB |\n|---|---|---|---|---|---|---|---|---|---|---|\n".to_owned();
    for ((limit, instance), rows) in groups {
        let of = |f: fn(&Row) -> Option<f64>| median(rows.iter().filter_map(|r| f(r)));
        let takts: Vec<f64> = rows.iter().filter_map(|r| r.takt_s).collect();
        let spread = 100.0 * (quantile(takts.clone(), 1.0) / quantile(takts, 0.0).max(1e-9) - 1.0);
        text += &format!(
            "| {limit} | {instance} | {} | {} | {:.3} | {:.3} | {:.3} | {:.2} | {:.2} | {:.2} | {:.0} |\n",
            rows[0].placed,
            rows[0].unplaced,
            of(|r| r.hand_s),
            of(|r| r.takt_s),
            of(|r| r.bound_s),
            of(|r| r.gap_percent),
            spread,
            of(|r| r.to_1_percent_s),
            of(|r| r.peak_mib),
        );
    }
    text
}

/// Instances that the planner refused, with the codes.
pub fn refused(rows: &[Row], version: &str) -> String {
    let all: BTreeSet<(&str, &str)> =
        rows.iter().filter(|r| r.version == version && r.outcome != "planned").map(|r| (r.outcome.as_str(), r.instance.as_str())).collect();
    let mut by_code: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    all.into_iter().for_each(|(code, name)| by_code.entry(code).or_default().push(name));
    by_code.into_iter().map(|(code, names)| format!("Refused ({code}): {}\n", names.join(", "))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(version: &str, instance: &str, gap: f64) -> Row {
        Row {
            version: version.to_owned(),
            instance: instance.to_owned(),
            seconds: Some(5.0),
            threads: 2,
            outcome: "planned".to_owned(),
            gap_percent: Some(gap),
            takt_s: Some(10.0 + gap),
            hand_s: Some(20.0),
            accepted: Some(true),
            ..Row::default()
        }
    }

    #[test]
    fn a_version_has_one_row_with_median_and_worst() {
        let rows = [row("v1", "a", 2.0), row("v1", "b", 4.0), row("v1", "c", 9.0), row("v2", "a", 1.0)];
        let text = versions(&rows, &|_| "real");
        let lines: Vec<&str> = text.lines().skip(2).collect();
        assert_eq!(lines.len(), 2);
        assert!(lines[0].starts_with("| v1 | real | 5 s, 2 thr. | 3 | 1 | 4.00 | 9.00 | 9.00 |"), "{}", lines[0]);
        assert!(lines[1].contains("| 1.00 | 1.00 | 1.00 |"));
    }

    #[test]
    fn refusals_are_named_and_count_in_no_median() {
        let refused_row = Row { outcome: "plan.not-planned-yet".to_owned(), ..row("v1", "z", 0.0) };
        let rows = [row("v1", "a", 2.0), refused_row];
        assert!(versions(&rows, &|_| "real").contains("| 1 | 1 | 2.00 |"));
        assert_eq!(refused(&rows, "v1"), "Refused (plan.not-planned-yet): z\n");
    }
}
