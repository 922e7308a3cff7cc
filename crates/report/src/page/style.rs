//! The style sheet of the page: the palette as variables for light, dark and print, type, tables, charts.

use crate::palette::{DARK, LIGHT, Made, Palette};
use crate::typography::SANS;
use crate::verdict;
use std::fmt::Write;

/// Names of the materials in the style sheet, in the order of [`Made::ALL`].
const NAMES: [&str; 9] =
    ["silicon", "copper", "copper2", "solder", "plate", "dielectric", "adhesive", "laminate", "interface"];

/// The whole sheet.
pub fn sheet() -> String {
    let light = theme(&LIGHT);
    let dark = theme(&DARK);
    let mut text =
        format!(":root{{{light}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n");
    text.push_str(&BASE.replace("SANS", SANS));
    for (name, made) in NAMES.iter().zip(Made::ALL) {
        let opacity = made.opacity();
        let _ = writeln!(
            text,
            ".k-{name}{{fill:var(--{name});fill-opacity:{opacity};stroke:var(--{name}-rim);stroke-width:.5}}\n\
             .s-{name}{{fill:none;stroke:var(--{name})}}"
        );
    }
    text.push_str(&verdict::style(".chart ", &LIGHT));
    text.push_str(&verdict::style(".mark ", &LIGHT));
    text.push_str(&verdict::style(".margin ", &LIGHT));
    let dark: String = [".chart ", ".mark ", ".margin "].iter().map(|s| verdict::style(s, &DARK)).collect();
    let _ = write!(text, "\n@media screen and (prefers-color-scheme:dark){{{dark}}}\n");
    text.push_str(PRINT);
    text
}

fn theme(p: &Palette) -> String {
    let mut text = format!(
        "--ink:{};--paper:{};--muted:{};--grid:{};--meets:{};--short:{};--none:{};",
        p.ink, p.paper, p.muted, p.grid, p.meets, p.short, p.not_judged
    );
    for (name, made) in NAMES.iter().zip(Made::ALL) {
        let tone = p.tone(made);
        let _ = write!(text, "--{name}:{};--{name}-rim:{};", tone.fill, tone.rim);
    }
    text
}

const BASE: &str = "\
*{box-sizing:border-box}
body{margin:0;background:var(--paper);color:var(--ink);font:16px/1.5 SANS;font-variant-numeric:tabular-nums}
header,nav,main,footer{max-width:1160px;margin:0 auto;padding:0 24px}
header{padding-top:36px}
h1{font-size:34px;line-height:1.15;letter-spacing:-.015em;margin:0 0 4px}
h2{font-size:23px;line-height:1.25;margin:0 0 12px;padding-top:14px;border-top:2px solid var(--ink)}
h3{font-size:17px;margin:26px 0 6px}
p{margin:0 0 12px;max-width:76ch}
.lead{font-size:18px}
.provenance,.small,figcaption,caption{color:var(--muted);font-size:14px}
.provenance{font-weight:600}
.caution{border-left:4px solid var(--short);padding-left:12px}
.counts{display:flex;flex-wrap:wrap;gap:8px 28px;font-size:18px}
.count{display:inline-flex;gap:8px;align-items:center}
.verdict{white-space:nowrap;font-weight:600}
.verdict .mark{vertical-align:-1px}
.verdict.meets{color:var(--meets)}
.verdict.short{color:var(--short)}
.verdict.none{color:var(--none)}
nav ul{display:flex;flex-wrap:wrap;gap:4px 18px;list-style:none;margin:8px 0 0;padding:10px 0;border-top:1px solid var(--grid)}
nav li{font-size:15px}
a{color:inherit;text-underline-offset:3px;text-decoration-color:var(--muted)}
a:hover{text-decoration-thickness:2px}
:focus-visible{outline:3px solid var(--meets);outline-offset:2px}
.skip{position:absolute;left:-999px}
.skip:focus{left:12px;top:8px;background:var(--paper);padding:6px 10px}
section{margin:34px 0 0;scroll-margin-top:12px}
figure{margin:14px 0 22px;min-width:0}
figcaption{margin-top:6px;max-width:84ch}
.scroll{overflow-x:auto;max-width:100%}
.scroll>svg{display:block;max-width:100%;height:auto;min-width:min(100%,520px)}
.charts{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,480px),1fr));gap:8px 32px;align-items:start}
.charts>*{min-width:0;margin:8px 0}
table{border-collapse:collapse;width:100%;font-size:14px;line-height:1.4;margin:4px 0 10px}
caption{text-align:left;padding:4px 0}
th,td{text-align:left;vertical-align:top;padding:6px 14px 6px 0;border-bottom:1px solid var(--grid)}
thead th{border-bottom:1px solid var(--ink);vertical-align:bottom}
tbody th{font-weight:600}
td:last-child{min-width:15ch}
.num{text-align:right;white-space:nowrap}
thead .num{white-space:normal}
.notes{margin:6px 0 12px;padding-left:20px;font-size:14px;max-width:96ch}
.margin{display:block}
footer{padding-top:30px;padding-bottom:40px;overflow-wrap:anywhere}
.chart{font-family:SANS;font-variant-numeric:tabular-nums}
.chart text{fill:var(--ink);font-size:13px}
.chart .tick{fill:var(--muted);font-size:12px}
.chart .axis{fill:var(--muted);font-size:13px}
.chart .small{fill:var(--muted);font-size:11.5px}
.chart .head{font-weight:600}
.chart .value{font-weight:600}
.chart .mid{text-anchor:middle}
.chart .end{text-anchor:end}
.chart .limit-name{fill:var(--short);font-weight:600;paint-order:stroke;stroke:var(--paper);stroke-width:3px;stroke-linejoin:round}
.chart .value{paint-order:stroke;stroke:var(--paper);stroke-width:3px;stroke-linejoin:round}
.chart .grid{stroke:var(--grid);fill:none;stroke-width:1}
.chart .rule{stroke:var(--muted);fill:none;stroke-width:1}
.chart .zero,.chart .dim{stroke:var(--ink);fill:none;stroke-width:1}
.chart .link{stroke:var(--muted);fill:none;stroke-width:1}
.chart .limit{stroke:var(--short);fill:none;stroke-width:1.6;stroke-dasharray:7 4}
.chart .line{stroke:var(--copper-rim);fill:none;stroke-width:2.6;stroke-linejoin:round}
.chart .second{stroke:var(--silicon);stroke-dasharray:8 5}
.chart .thin{stroke-width:1.4}
.chart .thick{stroke-width:3}
.chart .stem{stroke:var(--silicon);fill:none;stroke-width:3}
.chart .knot{fill:var(--copper-rim);stroke:var(--paper);stroke-width:2}
.chart .open{fill:var(--paper);stroke:var(--muted)}
.chart .bar{fill:var(--silicon)}
.chart .warm{fill:var(--copper)}
.chart .rise{fill:var(--paper);stroke:var(--copper);stroke-width:1.5}
.chart .track{fill:var(--grid)}
.chart .band-name{fill:var(--meets);font-weight:600}
.chart .spread{fill:var(--copper);fill-opacity:.2}
.chart .asked{fill:var(--short);fill-opacity:.13}
.chart .whisker{stroke:var(--ink);fill:none;stroke-width:2}
.chart .name{paint-order:stroke;stroke:var(--paper);stroke-width:3px;stroke-linejoin:round}
.chart .band{fill:var(--meets);fill-opacity:.13}
.chart .map-edge{fill:none;stroke:#faf8f3;stroke-width:1.4;stroke-dasharray:6 3;mix-blend-mode:difference}
.chart .map-halo{fill:none;stroke:#faf8f3;stroke-width:2.6;stroke-opacity:.55;stroke-linejoin:round}
.chart .map-line{fill:none;stroke:#1d2433;stroke-width:1.1;stroke-linejoin:round}
.chart .map-number,.chart .map-name{fill:#1d2433;font-size:12px;paint-order:stroke;stroke:#faf8f3;stroke-width:3.4px;stroke-linejoin:round}
.chart .map-name{font-weight:600}
figure img{max-width:100%;height:auto}
.chart .map-ring{fill:none;stroke:#faf8f3;stroke-width:.9;stroke-opacity:.75}
.chart .map-gas{fill:#faf8f3}
.chart .map-cross{fill:none;stroke:#1d2433;stroke-width:.7}
.chart .map-rim{fill:none;stroke:#1d2433;stroke-width:1.6;stroke-linecap:square}
.chart .map-here{fill:none;stroke:#c4472f;stroke-width:2.4}
.chart .map-mark{fill:#faf8f3;stroke:#1d2433;stroke-width:1.4}
@media (max-width:640px){header,nav,main,footer{padding-left:14px;padding-right:14px}h1{font-size:28px}.lead,.counts{font-size:16px}\
.scroll>svg{min-width:520px}#life-line .scroll>svg,#section .scroll>svg,#tolerances .scroll>svg{min-width:860px}table{min-width:560px}#verdicts table,#figures table{min-width:900px}}
";

const PRINT: &str = "\
@media print{body{font-size:10.5pt}nav,.skip{display:none}header,main,footer{max-width:none;padding:0}
section{margin-top:16pt}figure,tr{break-inside:avoid}h2,h3,caption{break-after:avoid}thead{display:table-header-group}
.scroll{overflow:visible}table{font-size:8pt}.num{white-space:normal}*{print-color-adjust:exact;-webkit-print-color-adjust:exact}}
";
