import assert from "node:assert/strict";
import { test } from "node:test";

import { localDay } from "../../static/js/keeping.js";

test("a day is the one on this device's own calendar, not the one in Greenwich", () => {
  assert.equal(localDay(new Date(2026, 2, 9, 0, 5)), "2026-03-09");
  assert.equal(localDay(new Date(2026, 11, 31, 23, 55)), "2026-12-31");
});
