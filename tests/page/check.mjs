// Opens report pages in a browser, light and dark, wide and narrow, and fails on any serious finding of the
// accessibility checker axe-core (rules of WCAG 2.2, levels A and AA), on anything fetched, on errors of the page, and on
// a page that is wider than its window.
//
//   node check.mjs BROWSER PAGE...

import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const [browserPath, ...pages] = process.argv.slice(2);
if (!browserPath || pages.length === 0) {
  console.error("usage: node check.mjs BROWSER PAGE...");
  process.exit(2);
}

const browser = await chromium.launch({ executablePath: browserPath, args: ["--no-sandbox", "--disable-gpu"] });
let wrong = 0;
const tell = (where, what) => {
  wrong += 1;
  console.error(`${where}: ${what}`);
};
for (const page of pages) {
  for (const colorScheme of ["light", "dark"]) {
    for (const width of [1400, 400]) {
      const where = `${page} (${colorScheme}, ${width} wide)`;
      const tab = await browser.newPage({ colorScheme, viewport: { width, height: 900 } });
      const url = pathToFileURL(page).href;
      tab.on("request", (request) => {
        if (request.url() !== url) tell(where, `fetches ${request.url()}`);
      });
      tab.on("pageerror", (error) => tell(where, `error in the page: ${error.message}`));
      await tab.goto(url);
      const over = await tab.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
      if (over > 0) tell(where, `the page is ${over} pixels wider than its window`);
      await tab.evaluate(axe);
      const found = await tab.evaluate(() =>
        globalThis.axe.run(document, {
          runOnly: { type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] },
          resultTypes: ["violations"],
        }),
      );
      for (const { id, impact, help, nodes } of found.violations) {
        const places = nodes.slice(0, 3).map((n) => `${n.html.slice(0, 160)} ${n.failureSummary ?? ""}`).join("\n    ");
        const line = `${impact}: ${id}, ${help} (${nodes.length} places)\n    ${places}`;
        if (impact === "serious" || impact === "critical") tell(where, line);
        else console.log(`${where}: ${line}`);
      }
      if (found.passes.length === 0) tell(where, "the checker looked at nothing");
      await tab.close();
    }
  }
}
await browser.close();
console.log(`${pages.length} pages looked at, ${wrong} findings`);
process.exit(wrong === 0 ? 0 : 1);
