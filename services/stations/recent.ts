// What a door has taken in lately, to tell a repeat from news. Bounded: an older repeat slips through
// and does no harm, because the merge drops it. The other error would lose a report: that something
// new counts as said before. So what is said is known by 128 bits of the hash of its key and 128 of
// that of its content, and only both together make a repeat.
import { hash as digest, randomBytes } from 'node:crypto'

/** Said things remembered, the newest: 8 MB of them, taken at once. */
export const RECENT = 200_000
/** Contents remembered of one key, so that a source that numbers nothing makes no long search. */
const CONTENTS = 8
/** Of 32 bits: so many of the key, and so many of the content behind them. */
const [KEY_WORDS, WORDS] = [4, 8]
/** In place of a slot: the end of a chain, and of what is in no chain. */
const [END, FREE] = [-1, -2]

export class Recent {
  readonly #size: number
  /** Slots in the order in which they were filled, the oldest to be filled anew. */
  readonly #words: Int32Array
  /** By bits of the key the newest slot with them, and behind each slot the next older one. */
  readonly #newest: Int32Array
  readonly #older: Int32Array
  /** Keys are chosen by whoever sends: without it they could be chosen to lie in one chain. */
  readonly #salt = randomBytes(16).toString('hex')
  readonly #sought = new Int32Array(WORDS)
  #next = 0

  constructor(size = RECENT) {
    this.#size = size
    this.#words = new Int32Array(size * WORDS).fill(END)
    this.#newest = new Int32Array(2 ** Math.ceil(Math.log2(size))).fill(END)
    this.#older = new Int32Array(size).fill(FREE)
  }

  /** Remembers it, and answers what was known: nothing, its key with other content, or all of it. */
  add(key: string, hash: string): 'news' | 'reused' | 'said' {
    this.#seek(key, hash)
    let contents = 0
    let last = END
    for (let slot = this.#newest[this.#chain()]!; slot !== END; slot = this.#older[slot]!) {
      if (!this.#matches(slot, 0, KEY_WORDS)) continue
      if (this.#matches(slot, KEY_WORDS, WORDS)) return 'said'
      contents++
      last = slot
    }
    if (contents === CONTENTS) this.#free(last)
    this.#fill()
    return contents === 0 ? 'news' : 'reused'
  }

  remove(key: string, hash: string): void {
    this.#seek(key, hash)
    let slot = this.#newest[this.#chain()]!
    while (slot !== END && !this.#matches(slot, 0, WORDS)) slot = this.#older[slot]!
    if (slot !== END) this.#free(slot)
  }

  #seek(key: string, hash: string): void {
    const keyDigest = digest('sha256', this.#salt + key, 'buffer')
    const content = Buffer.from(hash.slice(0, 8 * (WORDS - KEY_WORDS)), 'hex')
    for (let i = 0; i < KEY_WORDS; i++) this.#sought[i] = keyDigest.readInt32LE(4 * i)
    for (let i = KEY_WORDS; i < WORDS; i++)
      this.#sought[i] = content.readInt32LE(4 * (i - KEY_WORDS))
  }

  /** Whether these words of a slot are those sought. */
  #matches(slot: number, from: number, to: number): boolean {
    for (let i = from; i < to; i++)
      if (this.#words[slot * WORDS + i] !== this.#sought[i]) return false
    return true
  }

  #chain(firstWord = this.#sought[0]!): number {
    return firstWord & (this.#newest.length - 1)
  }

  #fill(): void {
    const slot = this.#next
    this.#next = (slot + 1) % this.#size
    this.#free(slot)
    this.#words.set(this.#sought, slot * WORDS)
    const chain = this.#chain()
    this.#older[slot] = this.#newest[chain]!
    this.#newest[chain] = slot
  }

  /** Takes a slot out of its chain, if it is in one. */
  #free(slot: number): void {
    if (this.#older[slot] === FREE) return
    const chain = this.#chain(this.#words[slot * WORDS])
    if (this.#newest[chain] === slot) this.#newest[chain] = this.#older[slot]!
    else {
      let newer = this.#newest[chain]!
      while (this.#older[newer] !== slot) newer = this.#older[newer]!
      this.#older[newer] = this.#older[slot]!
    }
    this.#older[slot] = FREE
  }
}
