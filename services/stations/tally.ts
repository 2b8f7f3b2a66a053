import type { Receipt } from './door.ts'
import type { Line } from './lines.ts'
import type { Road } from './road.ts'

/** Where lines go: `say` for the result, `show` for the moving line of progress, absent without a terminal. */
export interface Voice {
  say(line: string): void
  show?: ((text: string) => void) | undefined
}

/** Lines named one by one; beyond, they are only counted. */
const MOST_REFUSED = 100
const MOST_FLAGGED = 20
const SHOW_EVERY_MS = 200

/** Counts what becomes of the lines of one file and says so. */
export class Tally {
  accepted = 0
  duplicate = 0
  refused = 0
  #flagged = 0
  #lastLine = 0
  #shownAt = 0
  readonly #voice: Voice

  constructor(voice: Voice) {
    this.#voice = voice
  }

  begin({ to, notes }: Road): void {
    for (const note of notes) this.#voice.say(note)
    this.#voice.show?.(`Taking in to ${to} …`)
  }

  add({ number }: Line, { outcome, problems, flags }: Receipt): void {
    this[outcome]++
    this.#lastLine = number
    if (outcome === 'refused')
      this.#name(
        number,
        problems.map(({ sentence }) => sentence),
        {
          nth: this.refused,
          most: MOST_REFUSED,
        },
      )
    if (flags.length > 0)
      this.#name(
        number,
        flags.map((flag) => `taken in, but ${flag}`),
        {
          nth: ++this.#flagged,
          most: MOST_FLAGGED,
        },
      )
    if (performance.now() - this.#shownAt < SHOW_EVERY_MS) return
    this.#shownAt = performance.now()
    this.#voice.show?.(`${number.toLocaleString('en')} lines: ${this.#counts()}`)
  }

  end(): void {
    this.#voice.show?.('')
  }

  /** How far it came; empty before the first line. */
  progress(): string {
    return this.#lastLine === 0 ? '' : `Up to line ${this.#lastLine}: ${this.#counts()}. `
  }

  summary(file: string): string[] {
    const name = file === '-' ? 'The input' : file
    if (this.#lastLine === 0) return [`${name} is empty: there was nothing to take in.`]
    const flagged = this.#flagged > 0 ? [`Flagged as unusual: ${this.#flagged}.`] : []
    return [`${name}: ${this.#counts()}.`, ...flagged]
  }

  #name(line: number, sentences: string[], { nth, most }: { nth: number; most: number }): void {
    if (nth > most) return
    this.#voice.show?.('')
    for (const sentence of sentences) this.#voice.say(`line ${line}: ${printable(sentence)}`)
    if (nth === most) this.#voice.say('Further lines like that are only counted.')
  }

  #counts(): string {
    const count = (number: number, word: string) => `${number.toLocaleString('en')} ${word}`
    return [
      count(this.accepted, 'accepted'),
      count(this.duplicate, 'duplicate'),
      count(this.refused, 'refused'),
    ].join(', ')
  }
}

/** What stood in a file may hold anything; a terminal would obey some of it. */
function printable(text: string): string {
  return text.replace(/[\p{Cc}\p{Cf}\u2028\u2029]/gu, '\ufffd')
}
