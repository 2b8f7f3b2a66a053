// How we talk to Apache Kafka. kafkajs is known to these files, services/log/kafka*.ts, and to no
// others. Whatever it promises about trying again is not trusted: it can wait for a frozen broker for
// minutes and give up on a lively one, so each call has a deadline of ours, and a client that failed
// is thrown away whole and made anew.
import { setTimeout as pause } from 'node:timers/promises'
import { type Admin, Kafka, logLevel } from 'kafkajs'
import { LogError } from '../log-error.ts'
import { quietIdleConnections } from './idle.ts'

/** Which brokers, and as whom. */
export interface KafkaPlace {
  /** Each host:port; any of them leads to the others. */
  brokers: readonly string[]
  /** Absent where the brokers ask nobody who they are. */
  login?: { user: string; password: string }
  /** Certificates are checked against those Node trusts (NODE_EXTRA_CA_CERTS adds to them). */
  tls?: boolean
  /** So long a question is asked anew before whoever asked is told that nobody answers. */
  patienceMs?: number
}

const CONNECT_MS = 1_000
export const REQUEST_MS = 4_000
/** Round whatever should be answered by one request or a few. */
export const CALL_MS = 5_000
const PATIENCE_MS = 12_000
const SLOW_MS = 30_000

export class KafkaClient {
  readonly kafka: Kafka
  readonly brokers: readonly string[]
  readonly #patienceMs: number
  /** Brokers that did not answer lately, and until when they are asked last. */
  readonly #slow = new Map<string, number>()
  #admin: Promise<Admin> | undefined
  #closed = false

  constructor({ brokers, login, tls = false, patienceMs = PATIENCE_MS }: KafkaPlace) {
    quietIdleConnections()
    this.brokers = brokers
    this.#patienceMs = patienceMs
    this.kafka = new Kafka({
      clientId: 'heat-to-pan',
      brokers: () => this.#inOrder(),
      ssl: tls,
      ...(login && {
        sasl: { mechanism: 'scram-sha-512', username: login.user, password: login.password },
      }),
      connectionTimeout: CONNECT_MS,
      requestTimeout: REQUEST_MS,
      retry: {
        initialRetryTime: 100,
        maxRetryTime: 1_000,
        retries: 8,
        // One road back after every fault: a new client, made by us.
        restartOnFailure: async () => false,
      },
      logLevel: logLevel.NOTHING,
    })
  }

  /** Asks the brokers something, with a new client after each failure. Throws LogError. */
  async ask<T>(what: string, question: (admin: Admin) => Promise<T>): Promise<T> {
    const until = Date.now() + this.#patienceMs
    for (;;) {
      try {
        if (this.#closed) throw closed()
        const admin = await within(CALL_MS, 'connecting', this.#connectedAdmin())
        return await within(2 * CALL_MS, what, question(admin))
      } catch (error) {
        this.renew()
        const refusal = refusalOf(error)
        if (refusal) throw refusal
        if (Date.now() > until) throw missing(what, error) ?? away(this.brokers, what, error)
        await jitter()
      }
    }
  }

  /** The next question goes over new connections. */
  renew(): void {
    discard(this.#admin)
    this.#admin = undefined
  }

  /** A broker that did not answer in time is asked last for a while. */
  slow(broker: string): void {
    this.#slow.set(broker, Date.now() + SLOW_MS)
  }

  close(): void {
    this.#closed = true
    this.renew()
  }

  #connectedAdmin(): Promise<Admin> {
    this.#admin ??= this.#newAdmin()
    return this.#admin
  }

  async #newAdmin(): Promise<Admin> {
    const admin = this.kafka.admin()
    admin.on(admin.events.REQUEST_TIMEOUT, ({ payload }) => this.slow(payload.broker))
    try {
      await within(CALL_MS, 'connecting', admin.connect())
      return admin
    } catch (error) {
      discard(Promise.resolve(admin))
      throw error
    }
  }

  /** kafkajs tries them in order and stops at one that accepts and then says nothing. */
  #inOrder(): string[] {
    const now = Date.now()
    const rank = (broker: string) =>
      ((this.#slow.get(broker) ?? 0) > now ? 1 : 0) + Math.random() / 2
    const ranked = this.brokers.map((broker) => ({ broker, rank: rank(broker) }))
    return ranked.sort((a, b) => a.rank - b.rank).map(({ broker }) => broker)
  }
}

/** Lets a client go without waiting: a hung one may never say that it has disconnected. */
export function discard(client: Promise<{ disconnect(): Promise<void> }> | undefined): void {
  void client?.then((each) => each.disconnect()).catch(() => undefined)
}

/** The work, or an error when it has not come to an end in time; what goes on behind is heard by nobody. */
export async function within<T>(limitMs: number, what: string, work: Promise<T>): Promise<T> {
  let timer: NodeJS.Timeout | undefined
  const late = new Promise<never>((_, failed) => {
    timer = setTimeout(() => failed(new Error(`No answer to ${what} in ${limitMs} ms`)), limitMs)
  })
  try {
    return await Promise.race([work, late])
  } finally {
    clearTimeout(timer)
  }
}

/** 0.2 to 0.5 s, so that those who failed together do not come back together. */
export async function jitter(signal?: AbortSignal): Promise<void> {
  await pause(200 + Math.random() * 300, undefined, { signal }).catch(() => undefined)
}

/** What no further try can cure, named; undefined for all that may pass. */
export function refusalOf(error: unknown): LogError | undefined {
  if (error instanceof LogError) return error
  for (const each of causesOf(error)) {
    const { name, type, message } = each as { name?: string; type?: string; message?: string }
    if (type === 'MESSAGE_TOO_LARGE')
      return new LogError('LOG_TOO_LARGE', `The broker takes no record so large: ${message}.`, {
        cause: error,
      })
    if (type?.endsWith('_AUTHORIZATION_FAILED'))
      return new LogError(
        'LOG_FORBIDDEN',
        `The brokers do not allow it to this user: ${message} Give the user the right, or check HEAT_TO_PAN_USER.`,
        { cause: error },
      )
    if (name === 'KafkaJSSASLAuthenticationError' || type === 'UNSUPPORTED_SASL_MECHANISM')
      return new LogError(
        'LOG_FORBIDDEN',
        `The brokers do not let this user in: ${message}. Check HEAT_TO_PAN_USER and HEAT_TO_PAN_PASSWORD.`,
        { cause: error },
      )
  }
  return undefined
}

/** The last resort of a question or an append: what became of it is not known. */
export function away(brokers: readonly string[], what: string, cause: unknown): LogError {
  const why = cause instanceof Error ? cause.message : String(cause)
  return new LogError(
    'LOG_AWAY',
    `The brokers at ${brokers.join(', ')} gave no answer to ${what} (${why}). See that they run, and try again: doing it twice does no harm.`,
    { cause },
  )
}

/** A topic may be unknown for a moment after a start, so this is said only when it stays so. */
function missing(what: string, error: unknown): LogError | undefined {
  if (!isTopicMissing(error)) return undefined
  return new LogError(
    'LOG_UNKNOWN_TOPIC',
    `Asked for ${what}, the brokers say that a topic is not there any more. Find out who deleted it: what stood in it is only in the database now.`,
    { cause: error },
  )
}

export function isTopicMissing(error: unknown): boolean {
  const types = [...causesOf(error)].map((each) => (each as { type?: string }).type)
  return types.includes('UNKNOWN_TOPIC_OR_PARTITION')
}

export const closed = () => new LogError('LOG_CLOSED', 'The log is closed.')

function* causesOf(error: unknown): Generator<object> {
  if (typeof error !== 'object' || error === null) return
  yield error
  const { cause, originalError, errors } = error as Record<string, unknown>
  yield* causesOf(cause)
  yield* causesOf(originalError)
  if (Array.isArray(errors)) for (const each of errors) yield* causesOf(each)
}
