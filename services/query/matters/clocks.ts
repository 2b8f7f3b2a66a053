// Time limits that others set, counted from when a recall was opened. Which of them hold is for counsel.
import type { Ms } from '../../events/fact.ts'

export interface Clock {
  duty: string
  due: Ms
  source: string
}

const DAY_MS = 24 * 3_600_000

/** Counted as if the plant had learned of it when the recall was opened. */
export function clocksOf(opened: Ms): Clock[] {
  return [
    {
      duty: 'Report to the United States Consumer Product Safety Commission what must be reported.',
      due: opened + DAY_MS,
      source: '16 CFR 1115.14(e), within 24 hours of learning it (from memory): ask counsel',
    },
    {
      duty: 'End the investigation whether it must be reported there.',
      due: workingDaysAfter(opened, 10),
      source:
        '16 CFR 1115.14(d), 10 days without weekends; public holidays are not counted out here: ask counsel',
    },
    {
      duty: 'Have traced the goods back and forward, with quantities, where a food-contact buyer asks for it.',
      due: opened + 4 * 3_600_000,
      source: 'BRCGS Food 3.9, traced within 4 hours (from memory): ask the buyer',
    },
  ]
}

/** The day of receipt is not counted. */
export function workingDaysAfter(from: Ms, days: number): Ms {
  let at = from
  for (let left = days; left > 0; ) {
    at += DAY_MS
    const day = new Date(at).getUTCDay()
    if (day !== 0 && day !== 6) left--
  }
  return at
}
