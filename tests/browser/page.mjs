// Pages that are only read, in Chromium: no script of their own, nothing asked for, at all sizes, light and dark,
// with everything unfolded. The job: {files: [[name, file]], pictures}; what comes back: {faults, pages}.

import { SCHEMES, SCREENS, accessible, claim, conforms, done, fits, job, launch, open, picture } from "./driver.mjs";

const browser = await launch();
let pages = 0;
for (const [index, [name, file]] of job.files.entries()) {
  // Lengths of bars stand beside them, and a part that scrolls is a region: both are HTML, if not to everyone's taste.
  await conforms(file, { "no-inline-style": "off", "prefer-native-element": "off" });
  // The first page at all sizes and in both schemes, the others at one.
  const screens = index === 0 ? Object.keys(SCREENS) : ["phone"];
  for (const screen of screens) {
    for (const scheme of index === 0 ? SCHEMES : ["light"]) await look(name, file, screen, scheme);
  }
}
for (const [name, most] of job.sheets ?? []) {
  const [, file] = job.files.find((it) => it[0] === name);
  for (const format of ["A4", "Letter"]) {
    const count = await sheets(file, format);
    claim(count > 0 && count <= most, `${name}, ${format}: ${count} sheets`);
  }
}
await done(browser, { pages });

async function look(name, file, screen, scheme) {
  const where = `${name}, ${screen}, ${scheme}`;
  const page = await open(browser, file, { screen, scheme });
  claim((await page.locator("script").count()) === 0, `${where}: a script`);
  claim((await page.locator("main, [role=main]").count()) === 1, `${where}: no single main part`);
  await page.evaluate(() => document.querySelectorAll("details").forEach((it) => (it.open = true)));
  await fits(page, where);
  await accessible(page, where);
  const unnamed = await page.evaluate(() => [...document.querySelectorAll("svg")].filter((it) => !it.querySelector("title") && it.getAttribute("aria-hidden") !== "true").length);
  claim(unnamed === 0, `${where}: ${unnamed} pictures without words`);
  if (screen === "phone") {
    const beside = await page.evaluate(() => [...document.querySelectorAll("table.many")].filter((it) => it.scrollWidth > it.clientWidth + 1 || it.getBoundingClientRect().right > innerWidth).length);
    claim(beside === 0, `${where}: ${beside} tables reach beyond the screen`);
  }
  await picture(page, `${name}-${screen}-${scheme}`);
  await page.context().close();
  pages += 1;
}

/** Prints a page as a reader would, nothing unfolded, and returns the number of its sheets. */
async function sheets(file, format) {
  const page = await open(browser, file, { screen: "desk" });
  const bytes = await page.pdf({ format, margin: undefined });
  await page.context().close();
  return (bytes.toString("latin1").match(/\/Type\s*\/Page\b/g) ?? []).length;
}
