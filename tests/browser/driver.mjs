// Opens a page of this project in Chromium and looks at it: what it asks for, what it complains of, how it
// fares with an accessibility checker and an HTML checker. Shared by all scripts of this folder.

import { chromium } from "playwright-core";
import { HtmlValidate } from "html-validate";
import { existsSync, mkdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

const AXE = createRequire(import.meta.url).resolve("axe-core/axe.min.js");

export const SCREENS = { phone: [360, 740], tablet: [820, 1180], desk: [1280, 900] };
export const SCHEMES = ["light", "dark"];

export const job = JSON.parse(readFileSync(process.argv[2], "utf8"));
export const faults = [];

/** Notes a fault where a claim does not hold. */
export function claim(holds, what) {
  if (!holds) faults.push(what);
}

export async function launch() {
  const found = [process.env.CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser"];
  const executablePath = found.find((it) => it && existsSync(it));
  return chromium.launch({ executablePath, args: ["--no-sandbox"] });
}

/** Opens a file; console errors, exceptions and requests but for the file itself become faults. */
export async function open(browser, file, { screen = "tablet", scheme = "light", script = true } = {}) {
  const [width, height] = SCREENS[screen];
  const context = await browser.newContext({ viewport: { width, height }, colorScheme: scheme, acceptDownloads: true, javaScriptEnabled: script });
  const page = await context.newPage();
  const address = pathToFileURL(file).href;
  page.on("console", (it) => claim(!["error", "warning"].includes(it.type()), `console: ${it.text()}`));
  page.on("pageerror", (it) => claim(false, `exception: ${it.message}`));
  page.on("request", (it) => claim(it.url() === address || it.url().startsWith("blob:"), `request: ${it.url()}`));
  await page.goto(address);
  return page;
}

/** Runs axe with all its rules; each violation is a fault. */
export async function accessible(page, where) {
  // The page's own policy forbids a foreign script tag; evaluation through the driver is no part of the page.
  await page.evaluate(readFileSync(AXE, "utf8"));
  const found = await page.evaluate(() => axe.run(document));
  for (const it of found.violations) {
    faults.push(`axe, ${where}: ${it.id}: ${it.help}: ${it.nodes.map((node) => node.html).slice(0, 3).join(" ")}`);
  }
  claim(found.passes.length > 10, `axe, ${where}: only ${found.passes.length} rules had something to look at`);
}

/** Holds a file against the standard of HTML. */
export async function conforms(file, beside = {}) {
  // A title is as long as the budget's; how void elements and attributes are written is a matter of taste.
  const rules = { "long-title": "off", ...beside };
  const report = await new HtmlValidate({ extends: ["html-validate:recommended"], rules }).validateString(readFileSync(file, "utf8"));
  for (const it of report.results.flatMap((result) => result.messages)) {
    faults.push(`HTML: ${it.line}:${it.column}: ${it.ruleId}: ${it.message}`);
  }
}

/** Nothing may need scrolling to the side. */
export async function fits(page, where) {
  const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  claim(over <= 0, `${where}: ${over} px too wide`);
}

/** Takes a picture where the job asks for pictures. */
export async function picture(page, name, fullPage = true) {
  if (!job.pictures) return;
  mkdirSync(job.pictures, { recursive: true });
  await page.screenshot({ path: join(job.pictures, `${name}.png`), fullPage });
}

/** Writes the faults and ends with their exit code. */
export async function done(browser, result = {}) {
  await browser.close();
  process.stdout.write(JSON.stringify({ faults, ...result }));
  process.exitCode = faults.length ? 1 : 0;
}
