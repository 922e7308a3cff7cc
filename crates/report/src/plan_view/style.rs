//! The style sheet of a plan: both themes from one set of rules.

use super::options::{Theme, View};
use crate::palette::{DARK, LIGHT, Made, Palette, SEEN_THROUGH};
use crate::typography::SANS;
use crate::verdict;

/// All rules, each held to the picture by `scope` (for instance `#plan `).
pub(super) fn sheet(scope: &str, theme: Theme, view: View) -> String {
    let root = scope.trim_end();
    let colours = match theme {
        Theme::Light => rules(scope, view, &LIGHT),
        Theme::Dark => rules(scope, view, &DARK),
        // A print goes on white paper whatever the screen looks like.
        Theme::Auto => format!(
            "{}\n@media screen and (prefers-color-scheme:dark){{\n{}}}",
            rules(scope, view, &LIGHT),
            rules(scope, view, &DARK)
        ),
    };
    let shape = scoped(
        scope,
        &[
            ("text", format!("font-family:{SANS};font-variant-numeric:tabular-nums")),
            (".h1", "font-size:26px;font-weight:600;letter-spacing:-.01em".into()),
            (".sub,.kl", "font-size:13px".into()),
            (".kv", "font-size:14px;font-weight:600".into()),
            (".h2", "font-size:12px;font-weight:600".into()),
            (".st,.nb,.info", "font-size:12px".into()),
            (".nb,.vn", "font-weight:600".into()),
            (".vn", "font-size:12px;paint-order:stroke;stroke-width:4;stroke-linejoin:round".into()),
            (".bt,.tk,.vw", "font-size:11px".into()),
            (".words", "font-size:12px".into()),
            (".mark", "font-size:11px;font-weight:600;letter-spacing:.02em".into()),
            (".mid,.t text", "text-anchor:middle".into()),
            (".end,.t .e", "text-anchor:end".into()),
            (".t .s", "text-anchor:start".into()),
            (".ax,.sb,.badge", "fill:none;stroke-width:1".into()),
            (".sb", "stroke-width:1.4".into()),
            (".l1,.l2,.l3,.l4,.coarse .f,.info", "display:none".into()),
            (".c1,.c2,.pl,.p,.u,.b", "stroke-linejoin:round".into()),
            (".o,.r,.x,.seal", "fill:none".into()),
            (".t", "pointer-events:none".into()),
        ],
    );
    format!(
        "{shape}{colours}\n{root}.some .n,{root}.some .plain,{root}.some .t text{{opacity:.2}}\
         {root}.some .n.on,{root}.some .t text.on{{opacity:1}}\n"
    )
}

/// The rules that hold colours.
fn rules(scope: &str, view: View, palette: &Palette) -> String {
    let Palette { ink, paper, muted, grid, meets, short, .. } = palette;
    let tone = |made| palette.tone(made);
    let silicon = tone(Made::Silicon);
    let (copper, second) = (tone(Made::Copper), tone(Made::SecondCopper));
    let (solder, plate) = (tone(Made::Solder), tone(Made::Plate));
    let film = tone(Made::Dielectric);
    // Seen on the pads, the die shows its dielectric; seen through its back, a veil of silicon.
    let die = match view {
        View::DieFaceUp => film.fill.over(Made::Dielectric.opacity(), *paper),
        View::DieFaceDown => silicon.fill.over(SEEN_THROUGH, *paper),
    };
    let list = [
        (".bg", format!("fill:{paper}")),
        ("text", format!("fill:{ink}")),
        (".sub,.kl,.tk,.info,.bt", format!("fill:{muted}")),
        (".mark", format!("fill:{muted}")),
        (".vn", format!("stroke:{paper}")),
        (".vw", format!("fill:{muted}")),
        (".good", format!("fill:{meets}")),
        (".bad,.nb,.vn", format!("fill:{short}")),
        (".rule", format!("fill:{grid}")),
        (".badge", format!("stroke:{muted}")),
        (".ax", format!("stroke:{muted}")),
        (".sb", format!("stroke:{ink}")),
        (".die", format!("fill:{die};stroke:{};stroke-width:.16em", silicon.fill)),
        (".cm,.k-si", format!("fill:{}", silicon.fill)),
        (".k-b", format!("fill:{};stroke:{};stroke-width:.8", solder.fill, solder.rim)),
        (".seal", format!("stroke:{};stroke-width:.08em", silicon.fill)),
        (
            ".ko",
            format!(
                "fill:{muted};fill-opacity:.1;stroke:{muted};stroke-width:.08em;stroke-dasharray:.4em .3em"
            ),
        ),
        (".c1", format!("fill:{}", copper.fill)),
        (".c2a", format!("fill:{}", second.fill)),
        (".c2b", format!("stroke:{};fill:none", copper.fill)),
        (".pl", format!("fill:{};fill-opacity:.5;stroke:{};stroke-width:.06em", copper.fill, copper.fill)),
        (
            ".p",
            format!("fill:{};fill-opacity:.55;stroke:{ink};stroke-opacity:.7;stroke-width:.05em", plate.fill),
        ),
        (".o", format!("stroke:{};stroke-width:.05em", film.rim)),
        (".u", format!("fill:{};stroke:{};stroke-width:.06em", plate.fill, plate.rim)),
        (".b", format!("fill:{};stroke:{};stroke-width:.1em", solder.fill, solder.rim)),
        (".r", format!("stroke:{paper};stroke-opacity:.6;stroke-width:.06em")),
        (".x", format!("stroke:{muted};stroke-width:.06em")),
        (".hi path", format!("stroke:{ink};stroke-opacity:1;stroke-width:.12em")),
        (".halo", format!("fill:{paper};stroke:{paper};stroke-width:6;stroke-linejoin:round")),
    ];
    format!("{}{}", scoped(scope, &list), verdict::style(scope, palette))
}

/// Rules with every selector held to the picture.
fn scoped(scope: &str, rules: &[(&str, String)]) -> String {
    rules
        .iter()
        .map(|(selectors, body)| {
            let held: Vec<String> = selectors.split(',').map(|s| format!("{scope}{s}")).collect();
            format!("{}{{{body}}}", held.join(","))
        })
        .collect::<Vec<_>>()
        .join("\n")
        + "\n"
}
