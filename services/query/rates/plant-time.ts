// Days and shifts as the plant's own clock tells them.
import type { FactOf, Ms } from '../../events/fact.ts'
import { refusal } from '../refusal.ts'

type Poured = FactOf<'poured', number>

/** Calendar day of a pour, such as 2026-03-02. */
export function dayOf({ from, offsetMinutes }: Pick<Poured, 'from' | 'offsetMinutes'>): string {
  return local(from, offsetMinutes).slice(0, 10)
}

/** Monday of the week of a day. */
export function weekOf(day: string): string {
  const at = new Date(`${day}T00:00:00Z`)
  at.setUTCDate(at.getUTCDate() - ((at.getUTCDay() + 6) % 7))
  return at.toISOString().slice(0, 10)
}

/** Name of the shift of a pour, such as 06:00 to 14:00. `starts` in rising order. */
export function shiftOf(
  { from, offsetMinutes }: Pick<Poured, 'from' | 'offsetMinutes'>,
  starts: readonly string[],
): string {
  const clock = local(from, offsetMinutes).slice(11, 16)
  // Before the first start it is still the last shift of the day before.
  const i = starts.findLastIndex((start) => start <= clock)
  const at = (i + starts.length) % starts.length
  return `${starts[at]} to ${starts[(at + 1) % starts.length]}`
}

/** Throws a refusal for anything but times of day in rising order. */
export function assertShifts(starts: readonly string[]): void {
  const rising = starts.every((start, i) => i === 0 || starts[i - 1]! < start)
  if (
    starts.length < 1 ||
    !rising ||
    !starts.every((start) => /^([01]\d|2[0-3]):[0-5]\d$/.test(start))
  )
    throw refusal('BAD_USER_INPUT', 'shifts takes times of day in rising order, such as "06:00".')
}

const MINUTE = 60_000

function local(at: Ms, offsetMinutes = 0): string {
  return new Date(at + offsetMinutes * MINUTE).toISOString()
}
