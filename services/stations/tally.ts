import type { Receipt } from './door.ts'
import type { Line } from './lines.ts'
import type { Road } from './road.ts'

/** Where lines go: `say` for the result, `show` for the moving line of progress, absent without a terminal. */
export interface Voice {
  say(line: string): void
  show?: ((text: string) => void) | undefined
}

/** Refusals shown one by one; beyond, only counted. */
const MOST_SHOWN = 100
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
    if (flags.length > 0) this.#flagged++
    if (outcome === 'refused' && this.refused <= MOST_SHOWN) {
      this.#voice.show?.('')
      for (const { sentence } of problems) this.#voice.say(`line ${number}: ${printable(sentence)}`)
      if (this.refused === MOST_SHOWN) this.#voice.say('Further refused lines are only counted.')
    }
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
    const flagged =
      this.#flagged > 0 ? [`${this.#flagged} of them are unusual and were flagged.`] : []
    return [`${name}: ${this.#counts()}.`, ...flagged]
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
