// The sign-in page: whoever was signed in on this device is so no longer, and perhaps the child is erased and
// the account with it. What is held of a child goes, unless something has still to be sent: until that has
// arrived, what hurt is known here alone.

import { isWaiting } from "./follow/outbox.js";
import { forgetChildren } from "./keeping.js";

if (!(await isWaiting().catch(() => false))) forgetChildren();
