// The only place from which a page talks to the house. A question goes by the id of its document.

/** One operation of a document that the house knows. */
export interface Ask<Data, Variables> {
  document: string
  operation: string
  /** What it comes to; never there. */
  types?: [Data, Variables]
}

/** Why there is no answer, as a page tells it. */
export type Failure =
  | { kind: 'disconnected' }
  | { kind: 'signed-out' }
  | { kind: 'not-yours' }
  /** Seconds until it is worth asking again, which a page may do by itself. */
  | { kind: 'busy'; seconds: number; byItself?: true }
  /** The house says what to put right. */
  | { kind: 'refused'; sentence: string }
  | { kind: 'broken'; fault: string }

/** Thrown in place of an answer. */
export class Unanswered extends Error {
  readonly failure: Failure

  constructor(failure: Failure) {
    super(failure.kind)
    this.failure = failure
  }
}

interface Reply<Data> {
  data?: Data | null
  errors?: { message: string; extensions?: { code?: string; errorId?: string } }[]
}

/** Sent before the page that asks it is here: taken once. */
let ahead: { body: string; response: Promise<Response> } | undefined

/** Asks what a page is about to ask; not being answered is for that page to tell. */
export function askAhead<Data, Variables>(what: Ask<Data, Variables>, variables: Variables): void {
  const body = bodyOf(what, variables)
  ahead = { body, response: post(body) }
  ahead.response.catch(() => undefined)
}

function taken(body: string): Promise<Response> | undefined {
  if (ahead?.body !== body) return undefined
  const { response } = ahead
  ahead = undefined
  return response
}

/** Asks the house. Throws Unanswered, or an AbortError when it was stopped. */
export async function ask<Data, Variables>(
  what: Ask<Data, Variables>,
  variables: Variables,
  signal?: AbortSignal,
): Promise<Data> {
  const body = bodyOf(what, variables)
  const response = await (taken(body) ?? post(body, signal))
  if (response.status === 401) throw new Unanswered({ kind: 'signed-out' })
  if (response.status === 429 || response.status === 503)
    throw new Unanswered({
      kind: 'busy',
      seconds: Number(response.headers.get('retry-after')) || 5,
    })
  const { data, errors: [error] = [] } = (await response.json().catch(() => ({}))) as Reply<Data>
  if (error) throw new Unanswered(failureOf(error))
  if (data === undefined || data === null)
    throw new Unanswered({ kind: 'broken', fault: 'no data' })
  return data
}

function bodyOf<Data, Variables>(
  { document, operation }: Ask<Data, Variables>,
  variables: Variables,
): string {
  return JSON.stringify({ documentId: document, operationName: operation, variables })
}

function post(body: string, signal?: AbortSignal): Promise<Response> {
  return reach('/graphql', {
    method: 'POST',
    headers: { 'content-type': 'application/json', accept: 'application/json' },
    body,
    ...(signal && { signal }),
  })
}

function failureOf({
  message,
  extensions = {},
}: NonNullable<Reply<never>['errors']>[number]): Failure {
  const { code, errorId } = extensions
  if (code === 'FORBIDDEN') return { kind: 'not-yours' }
  if (code === 'UNAUTHENTICATED') return { kind: 'signed-out' }
  if (code === 'INTERNAL') return { kind: 'broken', fault: errorId?.slice(0, 8) ?? 'unknown' }
  if (code === 'TOO_OFTEN') return { kind: 'busy', seconds: 5 }
  return { kind: 'refused', sentence: message }
}

/**
 * Who is signed in; undefined when nobody is. A document is sent with that answer, which stands for one asking:
 * later it is asked anew. Throws Unanswered.
 */
export async function whoIsIn(isAnew = true): Promise<SignedIn | undefined> {
  const response = await reach(isAnew ? `/session?at=${Date.now()}` : '/session')
  return response.ok ? ((await response.json()) as SignedIn) : undefined
}

export interface SignedIn {
  subject: string
  roles: string[]
  plant: string
  until: string
}

/** Trades a token for a cookie that no script can read; false when it is not taken. */
export async function signIn(token: string): Promise<boolean> {
  const headers = { authorization: `Bearer ${token}` }
  return (await reach('/session', { method: 'POST', headers })).ok
}

export async function signOut(): Promise<void> {
  await reach('/session', { method: 'DELETE' })
}

async function reach(path: string, how: RequestInit = {}): Promise<Response> {
  try {
    return await fetch(path, { credentials: 'same-origin', ...how })
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError') throw error
    throw new Unanswered({ kind: 'disconnected' })
  }
}
