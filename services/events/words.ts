// Parts of the sentences that say a report in the trade's words.
import type { Quantity } from './field.ts'

/** Such as "812 kg", "about 812 kg"; "an amount not weighed" where none was given. */
export function kgWords(kg: Quantity | undefined): string {
  return kg ? amount(kg) + ' kg' : 'an amount not weighed'
}

export function castingWords(castings: Quantity | undefined): string {
  if (!castings) return 'castings not counted'
  return amount(castings) + (castings.value === 1 ? ' casting' : ' castings')
}

/** "lot:PI-77" as "lot PI-77". */
export function thingWords(name: string): string {
  return name.replace(':', ' ')
}

/** The first few by name, the rest by number. */
export function listWords(words: readonly string[], most = 3): string {
  const shown =
    words.length > most ? [...words.slice(0, most), `${words.length - most} more`] : words
  return shown.length > 1 ? `${shown.slice(0, -1).join(', ')} and ${shown.at(-1)}` : shown.join()
}

function amount({ value, how, bound }: Quantity): string {
  const number = String(Number(value.toFixed(value < 100 ? 3 : 1)))
  if (bound) return (bound === 'below' ? 'under ' : 'over ') + number
  return how === 'estimated' ? 'about ' + number : number
}
