// The bench sheet of one budget in Chromium. The job: {file, points: [{readings: [[text, verdict, sentence]]}],
// everywhere (at all sizes, light and dark), save, pictures, name}; what comes back: {faults, compared, typed, whole, points}.

import { SCHEMES, SCREENS, accessible, claim, conforms, done, fits, job, launch, open, picture } from "./driver.mjs";
import { copyFileSync } from "node:fs";

const browser = await launch();
const result = { compared: await bulk(), typed: await typed() };
await faulty();
await looks();
await conforms(job.file);
if (job.far) result.far = await far();
if (job.save) Object.assign(result, await byKeyboard());
await done(browser, result);

/** Every reading of the job, through the page's own functions. */
async function bulk() {
  const page = await open(browser, job.file);
  const wrong = await page.evaluate((expected) => {
    const wrong = [];
    expected.forEach((point, index) => {
      for (const [text, verdict, sentence] of point.readings) {
        const found = readingOf(text);
        const got = found.fault ? found : judged(points[index].data, found.n);
        if (got.verdict !== verdict || got.sentence !== sentence) wrong.push([index, text, verdict, sentence, got.verdict, got.sentence, got.fault].join(" | "));
      }
    });
    return wrong;
  }, job.points);
  for (const it of wrong.slice(0, 5)) claim(false, `page and judge differ (${wrong.length} times): ${it}`);
  await page.close();
  return job.points.reduce((sum, it) => sum + it.readings.length, 0);
}

/** Readings [text, verdict, sentence, value] beyond the values that the page holds. */
async function far() {
  const page = await open(browser, job.file);
  const got = await page.evaluate((expected) => expected.map(([text]) => judged(points[0].data, readingOf(text).n)), job.far);
  await page.close();
  for (const [index, [text, verdict, sentence, value]] of job.far.entries()) {
    const { verdict: shown, sentence: said, room } = got[index];
    const found = /(more|less) than ([+\u2212]?[\d.]+) /.exec(said);
    claim(shown === verdict, `${text}: ${shown} for ${verdict}`);
    claim(found, `${text}: ${said}`);
    if (!found) continue;
    const end = Number(found[2].replace("\u2212", "-"));
    claim(found[1] === "more" ? value > end : value < end, `${text}: ${said}, where it is ${value}`);
    const without = said.replace(/(more|less) than [^;]*;/, ";");
    claim(without.replace(/ ;/, ";") === sentence.replace(/ [+\u2212]?[\d.]+ \S+;/, ";"), `${text}: ${said} for ${sentence}`);
    claim(/\(more than [^)]+\) (to|beyond) .*; more than .* beyond the /.test(room), `${text}: ${room}`);
  }
  return got.length;
}

/** Some dozens of them by real keys, read back from the screen. */
async function typed() {
  const page = await open(browser, job.file);
  let count = 0;
  for (const [index, point] of job.points.entries()) {
    const stride = Math.max(1, Math.floor(point.readings.length / Math.ceil(48 / job.points.length)));
    for (let at = 0; at < point.readings.length; at += stride) {
      const [text, verdict, sentence] = point.readings[at];
      await page.focus(`#r${index}-1`);
      await page.keyboard.press("Control+A");
      await page.keyboard.type(text);
      const shown = await page.locator(`#r${index}-1-said`).evaluate((it) => [it.querySelector(".mark").textContent, it.querySelectorAll("p")[1].textContent, it.querySelector(".room").textContent]);
      claim(shown[0] === verdict && shown[1] === sentence, `typed ${text}: ${shown} for ${verdict}, ${sentence}`);
      claim(shown[2].startsWith("Distance: "), `typed ${text}: no distance`);
      count += 1;
    }
  }
  await page.close();
  return count;
}

/** What is wrong is named, and gets no verdict. */
async function faulty() {
  const page = await open(browser, job.file);
  const [good] = job.points[0].readings[0];
  const cases = [[good + "4", "the display cannot show"], [good.replace(".", ","), "decimal comma"], ["5 mm", "is no number"], ["1e3", "is no number"], ["9".repeat(30), "too far off"]];
  if (!good.includes(".")) cases[1][0] = good + ",0";
  for (const [text, phrase] of cases) {
    await page.fill("#r0-1", text);
    await page.locator("#r0-1").blur();
    const said = page.locator("#r0-1-said");
    claim((await said.locator(".mark").textContent()) === "not read", `${text} has a verdict`);
    claim((await said.textContent()).includes(phrase), `${text}: ${await said.textContent()}`);
    claim((await page.getAttribute("#r0-1", "aria-invalid")) === "true", `${text} is not marked as invalid`);
  }
  await page.fill("#id", "M-1");
  await page.click("#save");
  claim((await page.textContent("#save-said")).startsWith("Not saved: ") || !(await page.isEnabled("#save")), "saved with a fault");
  claim(await page.evaluate(() => document.activeElement.id === "r0-1"), "saving does not lead to the fault");
  await page.close();
}

/** At each size and in light and dark: accessible, not too wide, targets large; pictures on demand. */
async function looks() {
  for (const screen of job.everywhere ? Object.keys(SCREENS) : ["tablet"]) {
    for (const scheme of job.everywhere ? SCHEMES : ["light"]) {
      const where = `${screen}, ${scheme}`;
      const page = await open(browser, job.file, { screen, scheme });
      for (const [index, point] of job.points.entries()) {
        const [text] = point.readings[Math.floor((point.readings.length * (index + 3)) / (job.points.length + 5))];
        if (index < 7) await page.fill(`#r${index}-1`, text);
      }
      await page.locator("#id").focus();
      await accessible(page, where);
      await fits(page, where);
      const small = await page.evaluate(() => [...document.querySelectorAll("button, input, select")].filter((it) => it.offsetHeight < 44 || it.offsetWidth < 44).map((it) => it.outerHTML));
      claim(!small.length, `${where}: too small to hit: ${small[0]}`);
      await picture(page, `${job.name}-${screen}-${scheme}`);
      await picture(page, `${job.name}-${screen}-${scheme}-top`, false);
      await page.close();
    }
  }
}

/** A whole worksheet without a mouse: saved, and what the page said of it. */
async function byKeyboard() {
  const page = await open(browser, job.file);
  const focused = () => page.evaluate(() => document.activeElement.id);
  const tabTo = async (id) => {
    for (let n = 0; n < 60 && (await focused()) !== id; n += 1) await page.keyboard.press("Tab");
    claim((await focused()) === id, `the key Tab does not lead to #${id}`);
  };
  await tabTo("id");
  await page.keyboard.type(job.save.id);
  await tabTo("description");
  await page.keyboard.type(job.save.description);
  await tabTo("c0");
  await page.keyboard.type("Measuring faces: clean, #1 \"undamaged\"");
  await tabTo("c0-answer");
  await page.keyboard.press("ArrowDown");
  await tabTo("zero");
  await page.keyboard.type(job.save.zero);
  await tabTo("r0-1");
  for (const [index, texts] of job.save.readings.entries()) {
    for (const [at, text] of texts.entries()) {
      claim((await focused()) === `r${index}-${at + 1}`, `Enter led to ${await focused()}`);
      await page.keyboard.type(text);
      await page.keyboard.press(at + 1 < texts.length ? "Shift+Enter" : "Enter");
    }
  }
  // By the arrow keys one step up and one down: the last reading stays what it is.
  const last = `r${job.save.readings.length - 1}-1`;
  await page.keyboard.press("Shift+Tab");
  await page.focus(`#${last}`);
  await page.keyboard.press("ArrowUp");
  await page.keyboard.press("ArrowDown");
  await tabTo("save");
  const [download] = await Promise.all([page.waitForEvent("download"), page.keyboard.press("Enter")]);
  copyFileSync(await download.path(), job.save.path);
  const name = download.suggestedFilename();
  const points = await page.$$eval(".point", (all) => all.map((it) => [...it.querySelectorAll(".said")].map((said) => [said.querySelector(".mark").textContent, said.querySelectorAll("p")[1].textContent])));
  const apart = await page.$$eval(".point", (all) => all.map((it) => it.querySelector(":scope > .fault").textContent));
  const whole = await page.textContent("#whole-verdict");
  await page.close();
  return { name, points, apart, whole };
}
