// What a process says of itself: sentences at a terminal, one line of JSON for each fact elsewhere.

export type Level = 'info' | 'warning' | 'error'

/** What belongs to a sentence and is looked for by name: topic, offset, trace_id and the like. */
export type Facts = Readonly<Record<string, string | number | boolean | bigint | undefined>>

export interface Journal {
  tell(sentence: string, facts?: Facts): void
  /** Out of the ordinary, and nobody has to do anything. */
  warn(sentence: string, facts?: Facts): void
  /** Somebody has to do something. */
  alarm(sentence: string, facts?: Facts): void
  /** Too much for a terminal. */
  note(sentence: string, facts?: Facts): void
}

export interface JournalParts {
  /** Whose process it is, such as melt or genealogy. */
  service: string
  terminal: boolean
  write(line: string): void
  /** Unit: ms. */
  now(): number
}

export function journalOver({ service, terminal, write, now }: JournalParts): Journal {
  const say =
    (level: Level) =>
    (sentence: string, facts: Facts = {}) => {
      if (terminal) return write(sentence)
      const line = { time: new Date(now()).toISOString(), level, service, message: sentence }
      write(JSON.stringify({ ...line, ...facts }, asText))
    }
  return {
    tell: say('info'),
    warn: say('warning'),
    alarm: say('error'),
    note: terminal ? () => undefined : say('info'),
  }
}

/** Offsets are larger than what JSON numbers hold. */
function asText(_: string, value: unknown): unknown {
  return typeof value === 'bigint' ? String(value) : value
}
