// Which packs open holds and recalls touch: everything they cover, followed forward.
import { followThing, nothingFollowed, type View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import { Reach } from '../../metal/reach.ts'
import { isOpen, type Matter, mattersOf, stillHeld } from './matter.ts'

export interface Covered {
  /** Recalls, closed ones too: pans of them are still out there. */
  recalls: Matter[]
  /** Open holds. */
  holds: Matter[]
  /** Things that a recall covers, or may. */
  recalled(thing: number): Matter | undefined
  /** Things that something on hold went into, or may have. */
  held(thing: number): Matter | undefined
}

/**
 * Of each state of the record, by plant: many inquiries share one walk. The newest moment of the record is
 * none of its states: what another door stamped earlier may come in after it.
 */
const known = new WeakMap<View, Map<string, Covered>>()

/** As known in a state of the record. */
export function coveredIn(view: View, plant: string): Covered {
  const byPlant = kept(known, view, () => new Map<string, Covered>())
  return kept(byPlant, plant, () => coveredBy(view, plant))
}

function coveredBy(view: View, plant: string): Covered {
  const recalls = mattersOf(view, plant, 'recall')
  const holds = mattersOf(view, plant, 'hold').filter(isOpen)
  const recalled = touchedBy(view, recalls, ({ covers }) => [...covers.keys()])
  const held = touchedBy(view, holds, stillHeld)
  return {
    recalls,
    holds,
    recalled: (thing) => recalled.get(thing),
    held: (thing) => held.get(thing),
  }
}

/** Each thing with the newest matter that touches it; what reports leave open counts as touched. */
function touchedBy(
  view: View,
  matters: readonly Matter[],
  thingsOf: (matter: Matter) => number[],
): Map<number, Matter> {
  const touched = new Map<number, Matter>()
  for (const matter of [...matters].reverse()) {
    const things = thingsOf(matter)
    for (const no of packsOf(view, things)) touched.set(no, matter)
    for (const no of packsTouched(
      view,
      things.filter((no) => !isPacked(view, no)),
    ))
      touched.set(no, matter)
  }
  return touched
}

function isPacked(view: View, no: number): boolean {
  const kind = view.things.kind(no)
  return kind === 'pack' || kind === 'pan'
}

/** The things themselves, and packs that castings of them were repacked or relabelled into. */
function packsOf(view: View, things: readonly number[]): Set<number> {
  const found = new Set(things)
  for (const no of found)
    for (const { fact } of view.book.other(no, 'repacked', view.asOf)) found.add(fact.of)
  return found
}

/** Where castings are that any of the things went into, or may have. */
function* packsTouched(view: View, things: readonly number[]): Iterable<number> {
  if (things.length === 0) return
  const followed = nothingFollowed()
  for (const no of things) followThing(view, followed, no)
  for (const { node, standing } of new Reach(view, followed).scope({ touched: true }).nodes)
    if (standing !== 'clear') yield node.thing
}
