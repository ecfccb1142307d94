import assert from "node:assert/strict";
import { test } from "node:test";

import { Device } from "./support/device.js";
import { settled } from "./support/scripts.js";

const MIRA = "/family/mira/";
const WEEK = ["/", MIRA, "/library/figures/squat.svg?pair"];
const STYLE = "/static/css/base.r1.css";

/** A device on which the first family's week is kept. */
async function visited() {
  const device = new Device();
  await device.install();
  await device.keep();
  device.server.asked.length = 0;
  return device;
}

async function withoutConnection() {
  const device = await visited();
  device.server.isReachable = false;
  return device;
}

// ---- keeping

test("a family's week is kept under its sign-in, with the files its pages need", async () => {
  const device = await visited();
  assert.deepEqual(await device.pages(), { "fledge-pages-r1-anna-1": WEEK });
  assert.deepEqual(await device.files(), ["/no-connection/", "/static/js/follow/outbox.js", STYLE]);
  assert.deepEqual(device.heard, ["kept"]);
});

test("each visit fetches the pages anew, and a drawing or a file that is kept not again", async () => {
  const device = await visited();
  await device.keep();
  assert.deepEqual(device.server.asked, ["/offline/keep.json", "/", MIRA]);
});

test("what the server lists no longer is let go", async () => {
  const device = await visited();
  device.server.list = { pages: ["/"], figures: [] };
  await device.keep();
  assert.deepEqual(await device.pages(), { "fledge-pages-r1-anna-1": ["/"] });
});

test("a page that is not there, or for which one had to sign in, is not kept", async () => {
  const device = await visited();
  device.server.list = { pages: ["/", "/gone/", "/ended/"], figures: [] };
  await device.keep();
  assert.deepEqual(await device.pages(), { "fledge-pages-r1-anna-1": ["/"] });
});

test("where the list cannot be had, all that is kept stays and nobody is told it is new", async () => {
  for (const change of [{ isReachable: false }, { signIn: null }]) {
    const device = await visited();
    Object.assign(device.server, change);
    await device.keep();
    assert.deepEqual(await device.pages(), { "fledge-pages-r1-anna-1": WEEK });
    assert.deepEqual(device.heard, ["kept"]);
  }
});

test("a device without room says so, and what it had stays", async () => {
  const device = await visited();
  device.server.list.figures.push("/library/figures/plank.svg");
  device.caches.isFull = true;
  await device.keep();
  assert.deepEqual(device.heard, ["kept", "no room"]);
  device.server.isReachable = false;
  assert.match(await device.open(MIRA), /mira/);
});

// ---- with a connection and without

test("with a connection a page comes from the server, kept or not", async () => {
  const device = await visited();
  device.server.release = "of today";
  assert.match(await device.open(MIRA), /of today/);
  assert.match(await device.open("/family/mira/mail/"), /of today/);
});

test("without a connection a page is shown as it was kept, also one that led elsewhere", async () => {
  const device = await withoutConnection();
  assert.match(await device.open(MIRA), /mira\/ for anna-1/);
  const home = await device.navigate("/");
  assert.match(await home.text(), /family\/ for anna-1/);
  assert.equal(home.redirected, false); // a browser shows no page that was led elsewhere
});

test("without a connection a page that is not kept says so, with what is", async () => {
  const device = await withoutConnection();
  assert.match(await device.open("/family/mira/mail/"), /no-connection/);
});

test("a slow line is waited for four seconds, and then what is kept is shown", async () => {
  const device = await visited();
  device.server.isSlow = true;
  const shown = [];
  device.open(MIRA).then((text) => shown.push(text));
  await settled();
  device.clock.pass(3999);
  await settled();
  assert.deepEqual(shown, []);
  device.clock.pass(1);
  await settled();
  assert.match(shown[0], /for anna-1/);
});

test("a slow line is waited for as long as it takes where nothing is kept", async () => {
  const device = await visited();
  device.server.isSlow = true;
  const shown = [];
  device.open("/family/mira/mail/").then((text) => shown.push(text));
  await settled();
  device.clock.pass(60_000);
  await settled();
  assert.deepEqual(shown, []);
  await device.server.arrives();
  assert.match(shown[0], /mail/);
});

test("drawings come as they are kept, and others from the server", async () => {
  const device = await visited();
  const [kept, other] = ["/library/figures/squat.svg?pair", "/library/figures/squat.svg"];
  for (const path of [kept, other])
    assert.match(await (await device.request(path)).text(), /squat/);
  await device.request("/uploads/photo.jpg", { destination: "image" });
  assert.deepEqual(device.server.asked, [other, "/uploads/photo.jpg"]);
});

test("our files come as they are kept, and others from the server", async () => {
  const device = await visited();
  for (const path of [STYLE, "/static/js/blocks/board.js"]) {
    assert.equal(await (await device.request(path)).text(), path);
  }
  assert.deepEqual(device.server.asked, ["/static/js/blocks/board.js"]);
});

test("what is sent, what is asked for by a script, and other places are left alone", async () => {
  const device = await visited();
  assert.equal(await device.request("/inbox/", { method: "POST" }), undefined);
  assert.equal(await device.request("/offline/keep.json"), undefined);
  assert.equal(await device.request("https://elsewhere.example/static/x.js"), undefined);
  assert.deepEqual(device.server.asked, []);
});

// ---- whose

test("signing out wipes every page, with a connection or without, and leaves our own files", async () => {
  for (const isReachable of [true, false]) {
    const device = await visited();
    device.server.isReachable = isReachable;
    await device.signOut();
    assert.deepEqual(await device.pages(), {});
    assert.ok((await device.files()).includes(STYLE));
    device.server.isReachable = false;
    assert.doesNotMatch(await device.open(MIRA), /mira/);
  }
});

test("signing out without a connection is answered with the page that says so", async () => {
  const device = await withoutConnection();
  assert.match(await (await device.signOut()).text(), /no-connection/);
});

test("whoever is asked to sign in has nothing kept from before", async () => {
  for (const path of [MIRA, "/accounts/login/"]) {
    const device = await visited();
    device.server.signIn = null;
    await device.open(path);
    assert.deepEqual(await device.pages(), {});
  }
});

test("somebody else who signs in finds their own week and nothing of the one before", async () => {
  const device = await visited();
  device.server.signIn = "ben-1";
  device.server.list = { pages: ["/", "/family/ivo/"], figures: [] };
  await device.keep();
  assert.deepEqual(await device.pages(), { "fledge-pages-r1-ben-1": ["/", "/family/ivo/"] });
  device.server.isReachable = false;
  assert.match(await device.open("/"), /for ben-1/);
  assert.match(await device.open(MIRA), /no-connection/);
});

test("the same person signed in anew keeps all anew", async () => {
  const device = await visited();
  device.server.signIn = "anna-2";
  await device.keep();
  assert.deepEqual(Object.keys(await device.pages()), ["fledge-pages-r1-anna-2"]);
  device.server.isReachable = false;
  assert.match(await device.open(MIRA), /for anna-2/);
});

test("what is still there of another sign-in, however that came about, is shown to nobody", async () => {
  const device = await withoutConnection();
  const left = await device.caches.open("fledge-pages-r1-ben-1");
  await left.put("/family/ivo/", new Response("Ivo"));
  assert.match(await device.open("/family/ivo/"), /no-connection/);
});

test("a page that finds the device somebody else's has it wiped", async () => {
  const device = await visited();
  await device.tell({ type: "wipe" });
  assert.deepEqual(await device.pages(), {});
  device.server.isReachable = false;
  assert.match(await device.open(MIRA), /no-connection/);
});

test("somebody who signs out while a week is still being fetched leaves nothing of it behind", async () => {
  const device = await visited();
  device.server.isSlow = true;
  const keeping = device.keep();
  await settled();
  const signingOut = device.signOut();
  await device.server.arrives();
  await Promise.all([keeping, signingOut]);
  await device.open("/accounts/login/"); // where signing out leads
  assert.deepEqual(await device.pages(), {});
});

// ---- a new release

test("a new release keeps all anew and then lets the release before go", async () => {
  const device = await visited();
  device.server.release = "r2";
  await device.install();
  assert.deepEqual(await device.pages(), { "fledge-pages-r2-anna-1": WEEK });
  assert.ok((await device.files()).includes("/static/css/base.r2.css"));
  assert.ok(!(await device.files()).includes(STYLE));
  device.server.isReachable = false;
  assert.match(await device.open(MIRA), /base\.r2\.css/);
});

test("where a new release can keep nothing yet, what the one before kept is still shown, styled", async () => {
  const device = await visited();
  device.server.release = "r2";
  device.server.lost.push("/offline/keep.json");
  await device.install();
  assert.deepEqual(await device.pages(), { "fledge-pages-r1-anna-1": WEEK });
  device.server.isReachable = false;
  assert.match(await device.open(MIRA), /base\.r1\.css/);
  assert.equal(await (await device.request(STYLE)).text(), STYLE);
});

test("on a device of nobody's a new release lets the old one go and fetches no week", async () => {
  const device = await visited();
  await device.signOut();
  device.server.asked.length = 0;
  device.server.release = "r2";
  await device.install();
  assert.deepEqual(device.server.asked, ["/no-connection/", "/static/js/follow/outbox.js"]);
  assert.ok(!(await device.files()).includes(STYLE));
});

test("a release whose own files cannot be fetched does not take over", async () => {
  const device = await visited();
  device.server.release = "r2";
  device.server.lost.push("/no-connection/");
  await assert.rejects(device.install());
  assert.deepEqual(await device.pages(), { "fledge-pages-r1-anna-1": WEEK });
  device.server.isReachable = false;
  assert.match(await device.open(MIRA), /base\.r1\.css/);
});
