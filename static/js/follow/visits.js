// A session as visits, and what a child's wishes make of them. Pure.
//
// A visit is one round of one exercise: the steps that lead to it (rest, set up, get ready) and
// its bouts (work, change of side, work). Steps come from the server's timeline; here they are only
// regrouped, swapped for the easier option's own, or left out.

const RESTING = new Set(["breather", "rest", "drink"]);
const BOUT = new Set(["work", "change_side"]);

export const isResting = ({ kind }) => RESTING.has(kind);

/** The visits of a session's steps, in order. */
export function visitsOf(steps) {
  const visits = [];
  let lead = [];
  for (const step of steps) {
    const last = visits.at(-1);
    if (!BOUT.has(step.kind)) {
      lead.push(step);
    } else if (last && lead.length === 0 && last.slot === step.slot && last.round === step.round) {
      last.bouts.push(step);
    } else {
      const { part, slot, round, rounds } = step;
      visits.push({ part, slot, round, rounds, easier: false, lead, bouts: [step] });
      lead = [];
    }
  }
  return visits;
}

/** The steps of visits, each knowing its visit's index and carrying an id that outlives changes. */
export function stepsOf(visits) {
  return visits.flatMap((visit, index) =>
    [...visit.lead, ...visit.bouts].map((step) => ({
      ...step,
      easier: visit.easier,
      visit: index,
      id: [visit.slot, visit.round, step.easier ? "easier" : "", step.kind, step.side ?? ""].join(
        ".",
      ),
    })),
  );
}

/** The visits with the easier option of `visits[from]`'s exercise from there on.
 *  `done` counts the bouts of that visit already over: those sides are not asked for again.
 *  `isBegun` says that work has begun, so that the new place must first be taken. */
export function withEasier(visits, from, { done, isBegun, slots, pace }) {
  const slot = visits[from].slot;
  const setUp = { first: 0, again: 0, ...slots[slot].easier.setUp };
  const bouts = slots[slot].easier.bouts.map((step) => ({ ...step, slot, easier: true }));
  return visits.map((visit, index) => {
    if (index < from || visit.slot !== slot) return visit;
    const own = bouts.map(({ kind, seconds, side, easier }) => ({
      kind,
      seconds,
      side,
      easier,
      slot,
      part: visit.part,
      round: visit.round,
      rounds: visit.rounds,
    }));
    if (index > from || !isBegun) {
      const lead = leadOfEasier(visit, index > from ? setUp.again : setUp.first, pace);
      return { ...visit, easier: true, lead, bouts: own };
    }
    const left = done > 0 && own.length > 1 ? own.slice(2 * done) : own;
    const place = settingUp({ ...own[0], side: null }, setUp.first, pace);
    if (!place.length)
      place.push({ ...own[0], kind: "move_on", seconds: pace.move_on, side: null });
    return {
      ...visit,
      easier: true,
      bouts: [...visit.bouts.slice(0, 2 * done), ...place, ...left],
    };
  });
}

/** Its own set-up in the place of the other's, where the place is taken anew. */
function leadOfEasier(visit, seconds, pace) {
  const place = visit.lead.find(({ kind }) => kind === "get_ready" || kind === "move_on");
  if (!place) return visit.lead;
  const setUp = settingUp({ ...place, easier: true }, seconds, pace);
  return [...visit.lead.filter(isResting), ...(setUp.length ? setUp : [place])];
}

/** Whoever has set something up does not stand in place yet. */
function settingUp(place, seconds, pace) {
  if (!seconds) return [];
  return [
    { ...place, kind: "set_up", seconds },
    { ...place, kind: "get_ready", seconds: pace.get_ready },
  ];
}

/** The visits from `from` on without some exercises; those before stay as they are. */
export function without(visits, from, dropped, pace) {
  const kept = [];
  let resting = [];
  visits.forEach((visit, index) => {
    if (index < from) {
      kept.push(visit);
      return;
    }
    const rests = visit.lead.filter(isResting);
    if (dropped.has(visit.slot)) {
      resting.push(...rests);
      return;
    }
    const lead = resting.length
      ? leadAfterGap(kept.at(-1), visit, [...resting, ...rests], pace)
      : visit.lead;
    const changed =
      resting.length === 0 && isNeighbourGone(visits[index - 1], dropped, index - 1 >= from);
    kept.push({ ...visit, lead: changed ? leadAfterGap(kept.at(-1), visit, rests, pace) : lead });
    resting = [];
  });
  return kept;
}

function isNeighbourGone(before, dropped, isInReach) {
  return Boolean(before && isInReach && dropped.has(before.slot));
}

function leadAfterGap(before, visit, rests, pace) {
  const place = {
    part: visit.part,
    slot: visit.slot,
    round: visit.round,
    rounds: visit.rounds,
    side: null,
  };
  const lead = [];
  if (before && rests.length)
    lead.push(rests.reduce((one, other) => (other.seconds > one.seconds ? other : one)));
  const isNew = before?.part !== visit.part || before.slot !== visit.slot;
  const setUp = isNew ? visit.lead.filter(({ kind }) => kind === "set_up") : [];
  lead.push(...setUp);
  if (before?.part !== visit.part || setUp.length)
    lead.push({ ...place, kind: "get_ready", seconds: pace.get_ready });
  else if (isNew) lead.push({ ...place, kind: "move_on", seconds: pace.move_on });
  return lead.filter((step) => step.seconds > 0);
}
