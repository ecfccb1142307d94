import assert from "node:assert/strict";
import { test } from "node:test";

import { Builder } from "./support/builder.js";

const first = (amount, rest = "30") => ["slot-1", { amount, rest_seconds: rest }];

test("a line is saved when one of its fields is left, and kept until the server has it", () => {
  const page = new Builder();
  page.type("slot-1", "9");
  assert.deepEqual([page.saves, page.kept], [[], { "slot-1": { amount: "9" } }]);
  page.leave("slot-1");
  assert.deepEqual(page.saves, [first("9")]);
  assert.deepEqual(page.kept, { "slot-1": { amount: "9" } });
  page.answer(200);
  assert.deepEqual(page.kept, {});
  assert.equal(page.form("slot-1").dataset.state, undefined);
});

test("what is typed while its line is being saved is kept, and saved after it", () => {
  const page = new Builder();
  page.change("slot-1", "9");
  page.change("slot-1", "10");
  page.answer(200);
  assert.equal(page.field("slot-1").value, "10");
  assert.ok(page.asksBeforeLeaving());
  assert.deepEqual(page.saves, [first("9"), first("10")]);
  page.answer(200);
  assert.deepEqual([page.kept, page.stored["slot-1"].amount], [{}, "10"]);
  assert.ok(!page.asksBeforeLeaving());
});

test("what is still being typed when the answer comes outlives a reload", () => {
  const page = new Builder();
  page.change("slot-1", "9");
  page.type("slot-1", "45", "rest_seconds");
  page.answer(200);
  page.reload();
  assert.equal(page.field("slot-1", "rest_seconds").value, "45");
  assert.deepEqual(page.saves.at(-1), first("9", "45"));
});

test("an answer about one line lets nothing go that was typed into another", () => {
  const page = new Builder();
  page.change("slot-1", "9");
  page.type("slot-2", "6");
  page.answer(200);
  assert.deepEqual(page.kept, { "slot-2": { amount: "6" } });
});

test("what the server refuses stays typed, is marked with its reason, and is not sent again by itself", () => {
  const page = new Builder();
  page.change("slot-1", "900");
  page.answer(422, { amount: "At most 200." });
  assert.equal(page.field("slot-1").value, "900");
  assert.equal(page.form("slot-1").dataset.state, "refused");
  assert.equal(page.field("slot-1").getAttribute("aria-invalid"), "true");
  assert.equal(page.output.textContent, "one line is not saved");
  page.clock.pass(600_000);
  page.comesBackOnline();
  assert.deepEqual(page.saves, [first("900")]);
  assert.deepEqual(page.kept, { "slot-1": { amount: "900" } });
});

test("a refused line that is put right is saved, and nothing marks it any more", () => {
  const page = new Builder();
  page.change("slot-1", "900");
  page.answer(422, { amount: "At most 200." });
  page.change("slot-1", "90");
  page.answer(200);
  assert.equal(page.form("slot-1").dataset.state, undefined);
  assert.equal(page.field("slot-1").getAttribute("aria-invalid"), null);
  assert.deepEqual(page.kept, {});
});

test("another coach's change refuses the line, and what was typed here stays until one of both is chosen", () => {
  const page = new Builder();
  page.change("slot-1", "12");
  page.answer(409);
  assert.equal(page.field("slot-1").value, "12");
  assert.equal(page.form("slot-1").dataset.state, "refused");
  page.stored["slot-1"].amount = "10";
  page.redraw(page.form("slot-1").querySelector("[data-drops]"));
  assert.equal(page.field("slot-1").value, "10");
  assert.deepEqual([page.kept, page.saves.length], [{}, 1]);
});

test("a save without an answer is tried again, less and less often, until there is one", () => {
  const page = new Builder();
  page.change("slot-1", "9");
  for (const [tries, seconds] of [1, 2, 4, 8, 15, 15].entries()) {
    page.answer(tries % 2 ? 503 : 0);
    assert.equal(page.form("slot-1").dataset.state, "failed");
    assert.equal(page.output.textContent, "not saved: no connection, trying again");
    page.clock.pass(seconds * 1000 - 1);
    assert.equal(page.saves.length, tries + 1);
    page.clock.pass(1);
    assert.equal(page.saves.length, tries + 2);
  }
  page.answer(200);
  page.clock.pass(600_000);
  assert.deepEqual([page.saves.length, page.kept], [7, {}]);
});

test("once there is a connection again, every line that failed is sent at once", () => {
  const page = new Builder();
  page.change("slot-1", "9");
  page.answer(0);
  page.change("slot-2", "6");
  page.answer(0);
  page.comesBackOnline();
  page.answer(200);
  page.answer(200);
  page.clock.pass(600_000);
  assert.deepEqual(page.saves.slice(2), [first("9"), ["slot-2", { amount: "6" }]]);
  assert.deepEqual(page.kept, {});
});

test("what was typed outlives a reload, as a change of what it was first filled with", () => {
  const page = new Builder();
  page.change("slot-1", "9");
  page.answer(0);
  page.redraw();
  page.stored["slot-1"].amount = "10"; // by somebody else
  page.reload();
  assert.equal(page.field("slot-1").value, "9");
  assert.deepEqual(page.saves, [first("9"), first("9")]);
  assert.equal(page.seenSent["seen-amount"], "8"); // so the server can tell that it is "10" by now
});

test("parts that are drawn anew take nothing of what is being typed, and save what was left", () => {
  const page = new Builder();
  page.type("slot-1", "9");
  page.type("slot-2", "6");
  page.redraw();
  assert.equal(page.field("slot-1").value, "9");
  page.answer(200);
  assert.equal(page.field("slot-2").value, "6");
  assert.deepEqual(page.kept, { "slot-2": { amount: "6" } });
  assert.deepEqual(page.saves, [first("9")]);
});

test("what was refused is sent again when the parts are drawn over its reason, and what failed waits its turn", () => {
  const page = new Builder();
  page.change("slot-1", "900");
  page.answer(422);
  page.change("slot-2", "6");
  page.answer(0);
  page.redraw();
  page.answer(422);
  assert.deepEqual(page.saves.slice(2), [first("900")]);
  assert.equal(page.form("slot-2").dataset.state, "failed");
});

test("a line that somebody took out while it was typed into is told with what was in it", () => {
  const page = new Builder();
  page.type("slot-1", "9");
  page.type("slot-1", "45", "rest_seconds");
  delete page.stored["slot-1"];
  page.redraw();
  assert.equal(page.output.textContent, "A line was taken out while you typed “9 · 45”");
  assert.deepEqual(page.kept, {});
});

test("publishing waits until every line is stored and then goes out by itself", () => {
  const page = new Builder();
  page.change("slot-1", "9");
  page.type("slot-2", "6");
  const sent = [];
  assert.ok(!page.submitsPublish());
  page.publish.addEventListener("submit", () => sent.push(page.stored));
  page.answer(200); // the first line, saved when it was left
  page.answer(200); // and again with publishing
  assert.deepEqual(sent, []);
  page.answer(200);
  assert.deepEqual(
    sent.map((stored) => [stored["slot-1"].amount, stored["slot-2"].amount]),
    [["9", "6"]],
  );
  assert.ok(page.submitsPublish());
});

test("publishing goes out no more by itself where a line was refused meanwhile", () => {
  for (const status of [422, 409, 404, 0]) {
    const page = new Builder();
    page.type("slot-1", "900");
    assert.ok(!page.submitsPublish());
    page.answer(status);
    const sent = [];
    page.publish.addEventListener("submit", () => sent.push(status));
    page.change("slot-1", "90");
    page.answer(200);
    assert.deepEqual([sent, page.kept], [[], {}]);
  }
});

test("every line learns which version of the session it now changes", () => {
  const page = new Builder();
  page.change("slot-1", "9");
  page.answer(200);
  const versions = page.document.querySelectorAll("input[name=session_version]");
  assert.deepEqual(
    versions.map((field) => field.value),
    ["2", "2"],
  );
});

test("a tab that has no room to keep what was typed saves it all the same", () => {
  const page = new Builder();
  page.storage.isFull = true;
  page.change("slot-1", "9");
  page.answer(0);
  assert.ok(page.asksBeforeLeaving());
  page.comesBackOnline();
  page.answer(200);
  assert.equal(page.stored["slot-1"].amount, "9");
  assert.ok(!page.asksBeforeLeaving());
});
