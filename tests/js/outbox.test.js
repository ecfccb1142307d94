import assert from "node:assert/strict";
import { test } from "node:test";

import { queue, sendStraight, stateOf } from "../../static/js/follow/outbox.js";
import { Phone, refusal, thing } from "./support/phone.js";

const NOT_TAKEN =
  "Strong steps: The server could not take this. It is still on this phone: show it to the coach. I have read it";

test("what waits is sent oldest first, and is gone from the phone once it is written", async () => {
  const phone = new Phone();
  await phone.queue("late", { made: 3000 });
  await phone.queue("early", { made: 1000 });
  await phone.queue("between", { made: 2000 });
  assert.equal(await phone.send(), "");
  assert.deepEqual(phone.inbox.order, ["early", "between", "late"]);
  assert.deepEqual([await stateOf("early"), phone.says], [undefined, ""]);
  await phone.send();
  assert.equal(phone.inbox.came.length, 3);
});

test("the server is told what was written and by which child, and nothing of what the phone keeps beside", async () => {
  const phone = new Phone();
  await phone.queue("one");
  await phone.send();
  const { address, method, headers, ...told } = phone.inbox.came[0];
  assert.deepEqual(
    [address, method, headers["x-csrftoken"]],
    ["/inbox/", "POST", "from-the-cookie"],
  );
  assert.deepEqual(told, {
    id: "one",
    kind: "log",
    child: "c-1",
    session: "s-1",
    fields: { effort: "5" },
  });
});

test("where the answer got lost it is sent again as the same thing, and written once", async () => {
  const phone = new Phone();
  await phone.queue("one");
  phone.inbox.losesAnswers = true;
  assert.equal(await phone.send(), "offline");
  assert.equal(await stateOf("one"), "waiting");
  phone.inbox.losesAnswers = false;
  assert.equal(await phone.send(), "");
  assert.deepEqual(phone.inbox.order, ["one", "one"]);
  assert.equal(phone.inbox.written.size, 1);
  assert.equal(await stateOf("one"), undefined);
});

test("without a connection all of it waits, in its order, and is told by kind", async () => {
  const phone = new Phone();
  await phone.queue("begun", { kind: "started" });
  await phone.queue("hurt", { kind: "pain" });
  await phone.queue("log");
  await phone.queue("other log");
  phone.inbox.isReachable = false;
  assert.equal(await phone.send(), "offline");
  assert.equal(phone.says, "Waiting for a connection: the start, what hurts and the log.");
  phone.inbox.isReachable = true;
  await phone.send();
  assert.deepEqual(phone.inbox.order, ["begun", "hurt", "log", "other log"]);
});

test("nothing later is sent before something that could not be", async () => {
  const phone = new Phone();
  await phone.queue("begun", { kind: "started" });
  await phone.queue("log");
  phone.inbox.answers.begun = () => new Response("", { status: 503 });
  await phone.send();
  assert.deepEqual(phone.inbox.order, ["begun"]);
});

test("a server that is down or has too much to do has refused nothing", async () => {
  for (const status of [500, 502, 503, 504, 429]) {
    const phone = new Phone();
    await phone.queue("one");
    phone.inbox.answers.one = () => new Response("<h1>Later</h1>", { status });
    assert.equal(await phone.send(), "offline");
    assert.equal(await stateOf("one"), "waiting");
  }
});

test("whoever is signed out keeps what waits and is told to sign in", async () => {
  const led = Object.defineProperty(new Response("<h1>Sign in</h1>"), "redirected", {
    value: true,
  });
  for (const answer of [led, new Response("", { status: 403 })]) {
    const phone = new Phone();
    await phone.queue("one");
    phone.inbox.answers.one = () => answer;
    assert.equal(await phone.send(), "signed out");
    assert.equal(phone.says, "Waiting until you sign in again: the log.");
    assert.equal(await stateOf("one"), "waiting");
  }
});

test("what the server refuses stays with the reason, is not sent again, and holds nothing up", async () => {
  const phone = new Phone();
  await phone.queue("bad");
  await phone.queue("good");
  phone.inbox.answers.bad = refusal("refused", "The effort is a number from 1 to 10.");
  assert.equal(await phone.send(), "");
  await phone.send();
  assert.deepEqual(phone.inbox.order, ["bad", "good"]);
  assert.equal(phone.says, "Strong steps: The effort is a number from 1 to 10. I have read it");
  await phone.reads();
  assert.deepEqual([await stateOf("bad"), phone.says], [undefined, ""]);
});

test("a refusal that says nothing, or cannot be read, is told in words of ours and lets nothing go", async () => {
  const answers = [
    refusal("refused", ""),
    refusal("refused", "", 400),
    () => new Response("Not found", { status: 404 }),
    () => new Response("{", { status: 400 }),
  ];
  for (const answer of answers) {
    const phone = new Phone();
    await phone.queue("one");
    phone.inbox.answers.one = answer;
    await phone.send();
    assert.equal(phone.says, NOT_TAKEN);
    assert.notEqual(await stateOf("one"), undefined);
  }
});

test("where two logs met, both can be looked at", async () => {
  const phone = new Phone();
  await phone.queue("one");
  phone.inbox.answers.one = refusal("conflict", "The coach has logged this already.");
  await phone.send();
  const link = phone.list.querySelector("a");
  assert.equal(link.textContent, "Look at both and choose.");
  assert.equal(link.href, "/family/c-1/s-1/kept/");
});

test("what somebody has chosen about elsewhere is done with here too", async () => {
  const phone = new Phone();
  await phone.queue("one");
  phone.inbox.answers.one = refusal("settled", "");
  await phone.send();
  assert.deepEqual([await stateOf("one"), phone.says], [undefined, ""]);
});

test("what another person left on this phone is neither sent nor shown, and is still there for them", async () => {
  const phone = new Phone("anna");
  await phone.queue("of anna", { name: "Anna's session" });
  phone.openAs("ben");
  await phone.queue("of ben");
  await phone.send();
  assert.deepEqual([phone.inbox.order, phone.says], [["of ben"], ""]);
  phone.openAs("anna");
  await phone.send();
  assert.deepEqual(phone.inbox.order, ["of ben", "of anna"]);
});

test("the token of a club's own host is found in its cookie too", async () => {
  const phone = new Phone();
  phone.document.cookie = "theme=dark; __Host-csrftoken=of-this-host";
  await phone.queue("one");
  await phone.send();
  assert.equal(phone.inbox.came[0].headers["x-csrftoken"], "of-this-host");
});

test("without a cookie the token is the page's own", async () => {
  const phone = new Phone();
  phone.document.cookie = "";
  phone.main.append(
    phone.document.createElement("input", { name: "csrfmiddlewaretoken", value: "from-the-page" }),
  );
  await phone.queue("one");
  await phone.send();
  assert.equal(phone.inbox.came[0].headers["x-csrftoken"], "from-the-page");
});

test("a phone without room says so at once instead of keeping nothing", async () => {
  for (const when of ["at once", "in the end"]) {
    const phone = new Phone();
    phone.databases.hasNoRoom = when;
    await assert.rejects(queue(thing("one")), { name: "QuotaExceededError" });
    phone.databases.hasNoRoom = "";
    assert.equal(await stateOf("one"), undefined);
  }
});

test("what there is no room to keep is sent straight, or else said not to be", async () => {
  const phone = new Phone();
  assert.equal(await sendStraight(thing("one"), "/inbox/"), "");
  assert.deepEqual([...phone.inbox.written.keys()], ["one"]);
  phone.inbox.answers.two = refusal("refused", "The effort is a number from 1 to 10.");
  assert.equal(await sendStraight(thing("two"), "/inbox/"), "The effort is a number from 1 to 10.");
  phone.inbox.isReachable = false;
  assert.equal(await sendStraight(thing("three"), "/inbox/"), "no room");
});

test("where a phone keeps nothing at all, nothing breaks", async () => {
  const phone = new Phone();
  phone.databases.isForbidden = true;
  assert.equal(await phone.send(), "offline");
  assert.equal(phone.inbox.came.length, 0);
});
