// What a rep says about a mark, and why: words of the plant where quality wrote none.

/** From the most careful to the least. */
export const REASSURANCES = ['RECALLED', 'NOT_YET', 'CANNOT_SAY', 'MAY'] as const
export type Reassurance = (typeof REASSURANCES)[number]

/** Of a recall, whoever is told. */
export const RECALLED_WORDS = [
  'Thank you for telling us. Pans with this mark are being called back.',
  'Please stop using it and set it aside. We will tell you what to do with it.',
]

export const STANDING_WORDS: Record<Reassurance, readonly string[]> = {
  RECALLED: RECALLED_WORDS,
  NOT_YET: [
    'Thank you for telling us. We are looking at pans made at that time.',
    'Please set yours aside and do not use it until we call you back.',
  ],
  CANNOT_SAY: [
    'Thank you for telling us. I cannot say anything about this mark yet.',
    'Please set it aside until our quality people have looked and we call you back.',
  ],
  MAY: ['Nothing is known against pans with this mark.'],
}

/** To a customer that got some and is called: it has not told us anything. */
export const CALL_WORDS = [
  'Pans with the marks I read to you are being called back.',
  'Please keep apart what you have of them, and tell us how many you have, sold or cannot find.',
]

export const BECAUSE: Record<Reassurance, string> = {
  RECALLED: 'A recall covers this mark.',
  NOT_YET:
    'Something is being looked into that touches this mark. The reason is not ours to pass on.',
  CANNOT_SAY: 'Not all reports behind this mark are in.',
  MAY: 'No notice exists, and all reports behind this mark are in. This is not a promise of safety.',
}

export const NEXT: Record<Reassurance, string> = {
  RECALLED: 'Write the caller down with the recall, and tell quality.',
  NOT_YET: 'Write it down, and ask quality when it will be decided.',
  CANNOT_SAY: 'Write it down, and ask quality.',
  MAY: 'If something is wrong with the pan, write it down all the same.',
}
