// Signing in from a page: a token, once shown by the page, becomes a cookie that no script can read.
import type { IncomingMessage, ServerResponse } from 'node:http'
import { isLoopback } from '../../access/keys.ts'
import { NotLetIn } from '../../access/not-let-in.ts'
import { cookieOf, tokenOf, type WhoSends } from '../../access/sign-in.ts'
import type { Who } from '../../access/who.ts'
import { addressOf, type Listener, sendProblem } from './http.ts'

/**
 * Answers /session: POST with a token in the header keeps it, GET tells who is signed in, DELETE signs
 * out. A foreign page can do none of it: the header and DELETE need leave that is never given.
 */
export function sessionListener(whoSends: WhoSends): Listener {
  return async (request, response) => {
    if (addressOf(request).path !== '/session') return false
    const { method = '' } = request
    const answer = { POST: signIn, GET: tell, DELETE: signOut }[method]
    if (answer) await orTurnAway(response, () => answer(request, response, whoSends))
    else
      sendProblem(response, 405, 'BAD_REQUEST', 'This takes POST, GET and DELETE.', {
        allow: 'POST, GET, DELETE',
      })
    return true
  }
}

/** Does it, and answers those who are not let in. */
export async function orTurnAway(
  response: ServerResponse,
  work: () => Promise<void>,
): Promise<void> {
  try {
    await work()
  } catch (error) {
    if (!(error instanceof NotLetIn)) throw error
    sendProblem(response, error.status, error.code, error.message, error.headers)
  }
}

async function signIn(request: IncomingMessage, response: ServerResponse, whoSends: WhoSends) {
  if (request.headers.authorization === undefined)
    throw new NotLetIn('UNAUTHENTICATED', 'Send the token as authorization: Bearer TOKEN.')
  const who = await whoSends(request)
  const seconds = Math.max(0, Math.floor((who.untilMs - Date.now()) / 1_000))
  const token = cookieOf(tokenOf(request), { seconds, secure: !isOwnMachine(request) })
  send(response, who, { 'set-cookie': token })
}

async function tell(request: IncomingMessage, response: ServerResponse, whoSends: WhoSends) {
  send(response, await whoSends(request))
}

async function signOut(request: IncomingMessage, response: ServerResponse) {
  const empty = cookieOf('', { seconds: 0, secure: !isOwnMachine(request) })
  response.writeHead(204, { 'set-cookie': empty }).end()
}

function isOwnMachine({ headers: { host = '' } }: IncomingMessage): boolean {
  return isLoopback(host.replace(/:\d+$/, ''))
}

function send(
  response: ServerResponse,
  { subject, roles, plant, untilMs }: Who,
  headers: Record<string, string> = {},
): void {
  const said = { subject, roles: [...roles], plant, until: new Date(untilMs).toISOString() }
  response.writeHead(200, { 'content-type': 'application/json; charset=utf-8', ...headers })
  response.end(JSON.stringify(said))
}
