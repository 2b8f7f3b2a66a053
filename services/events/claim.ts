// What a statement claims about the record: enough to decide what is in force, and nothing of its
// content. Made by the catalogue (see catalog.ts), judged by merge.ts and by the view in_force.

export interface Claim {
  plant: string
  source: string
  id: string
  hash: string
  /** Unit: ms. */
  recorded: number
  /** Type without its major, and subject: only statements of one `about` join. */
  about: string
  /** How far it is believed against a rival: hand 0, scan 1, machine 2; absent entry ranks as scan. */
  rank: 0 | 1 | 2
  /** The event it corrects or voids: under its own source by `supersedes`, any by a quality decision. */
  joins?: { source: string; id: string }
  /** Takes the whole record out of force, for good. */
  void: boolean
  /** At most one head per slot is in force; absent where every statement counts. */
  slot?: string
  /** Of a load: rivals in a slot are only those whose times overlap. Unit: ms. */
  from?: number
  until?: number
}
