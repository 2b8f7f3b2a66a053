const RFC3339 =
  /^(\d{4})-(\d\d)-(\d\d)[Tt](\d\d):(\d\d):(\d\d)(?:\.(\d{1,9}))?(?:[Zz]|([+-])(\d\d):(\d\d))$/

/**
 * Milliseconds of an RFC 3339 date and time with its offset; undefined when it is none, or names a
 * day the calendar lacks. Digits beyond milliseconds are cut; a leap second is the second after it.
 */
export function momentOf(text: string): number | undefined {
  const part = RFC3339.exec(text)
  if (!part) return undefined
  const [, year, month, day, hour, minute, second, fraction, sign, offsetHour, offsetMinute] = part
  if (+hour! > 23 || +minute! > 59 || +second! > 60) return undefined
  if (sign && (+offsetHour! > 23 || +offsetMinute! > 59)) return undefined
  if (+month! < 1 || +month! > 12 || +day! < 1 || +day! > daysIn(+year!, +month!)) return undefined
  const offset = sign ? (+offsetHour! * 60 + +offsetMinute!) * (sign === '-' ? -60_000 : 60_000) : 0
  const local = new Date(0)
  // Not Date.UTC, which takes the years 0 to 99 for 1900 to 1999.
  local.setUTCFullYear(+year!, +month! - 1, +day!)
  local.setUTCHours(+hour!, +minute!, +second!)
  return local.getTime() + (fraction ? +fraction.slice(0, 3).padEnd(3, '0') : 0) - offset
}

/** How far the time of a moment is ahead of universal time, as it is written; 0 for what is no moment. */
export function offsetMinutesOf(text: string): number {
  const [, , , , , , , , sign, hour, minute] = RFC3339.exec(text) ?? []
  return sign ? (+hour! * 60 + +minute!) * (sign === '-' ? -1 : 1) : 0
}

/** As RFC 3339 in universal time, to the millisecond. */
export function momentText(ms: number): string {
  return new Date(ms).toISOString()
}

function daysIn(year: number, month: number): number {
  if (month === 2) return year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0) ? 29 : 28
  return month === 4 || month === 6 || month === 9 || month === 11 ? 30 : 31
}
