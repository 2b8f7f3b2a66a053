// Moments as the reader's clock shows them; on paper with the offset.

const CLOCK = new Intl.DateTimeFormat('en-GB', { hour: '2-digit', minute: '2-digit' })
const DAY = new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'long' })
const SHORT_DAY = new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'short' })
const WEEKDAY = new Intl.DateTimeFormat('en-GB', { weekday: 'long', day: 'numeric', month: 'long' })
const FULL = new Intl.DateTimeFormat('en-GB', {
  ...{ day: 'numeric', month: 'long', year: 'numeric', hour: '2-digit', minute: '2-digit' },
  timeZoneName: 'longOffset',
})

/** "14:02". */
export function clockWords(at: string | Date): string {
  return CLOCK.format(new Date(at))
}

/** "3 March". */
export function dayWords(at: string | Date): string {
  return DAY.format(new Date(at))
}

/** "3 Mar", for the axis of a drawing. */
export function shortDayWords(at: Date): string {
  return SHORT_DAY.format(at)
}

/** "Tuesday 3 March 09:20". */
export function momentWords(at: string | Date): string {
  return `${WEEKDAY.format(new Date(at)).replace(',', '')} ${clockWords(at)}`
}

/** With year and offset, for paper. */
export function fullWords(at: string | Date): string {
  return FULL.format(new Date(at))
}

/** "Monday 26 January, 07:10 to 11:40", or from day to day. */
export function stretchWords({ from, to }: { from: string; to: string }): string {
  const [first, last] = [new Date(from), new Date(to)]
  if (first.toDateString() === last.toDateString())
    return `${WEEKDAY.format(first).replace(',', '')}, ${clockWords(first)} to ${clockWords(last)}`
  return `${momentWords(first)} to ${momentWords(last)}`
}

/** The day of a moment as a field of a form holds it: "2026-04-11". */
export function dayField(at: string | Date): string {
  const date = new Date(at)
  const two = (value: number) => String(value).padStart(2, '0')
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`
}

/** When the day of a field begins; with `days` so many later. */
export function startOfDay(field: string, days = 0): Date {
  const date = new Date(`${field}T00:00`)
  date.setDate(date.getDate() + days)
  return date
}

/** "0:04" in minutes and seconds, "1:12:40" with hours; "0.2 s" of what is over at once. */
export function durationWords(seconds: number): string {
  if (seconds < 1) return `${Math.max(0.1, Math.round(seconds * 10) / 10)} s`
  const whole = Math.round(seconds)
  const two = (value: number) => String(value).padStart(2, '0')
  const [hours, minutes] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60]
  return hours > 0 ? `${hours}:${two(minutes)}:${two(whole % 60)}` : `${minutes}:${two(whole % 60)}`
}
