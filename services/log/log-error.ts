export type LogFault =
  /** Asked for an offset the log does not hold, or no longer, or not yet. */
  | 'LOG_OUT_OF_RANGE'
  /** Bytes that were durable have changed. Never skipped: a person must look. */
  | 'LOG_CORRUPT'
  /** The disk refused a write or a sync; nothing more is taken in until the log is opened anew. */
  | 'LOG_FAILED'
  | 'LOG_CLOSED'
  | 'LOG_TOO_LARGE'
  | 'LOG_UNKNOWN_TOPIC'
  /** The folder was made with other settings than it is opened with. */
  | 'LOG_OTHER_SHAPE'
  /** Not the log the reader has read before: other records, or other brokers, under the same names. */
  | 'LOG_DIVERGED'
  /** Nobody answered in time; what was sent may stand in the log or not. */
  | 'LOG_AWAY'
  /** Not let in, or not allowed to. */
  | 'LOG_FORBIDDEN'

/** What a log throws; the sentence names the place and the way out. */
export class LogError extends Error {
  readonly code: LogFault

  constructor(code: LogFault, sentence: string, options?: ErrorOptions) {
    super(sentence, options)
    this.name = 'LogError'
    this.code = code
  }
}
