// From a request to who sent it: by a token in its header, or in the cookie that a page traded one for.
import type { IncomingMessage } from 'node:http'
import { NotLetIn } from './not-let-in.ts'
import type { TokenReader } from './tokens.ts'
import type { Who } from './who.ts'

/** Who sends a request. Throws NotLetIn. */
export type WhoSends = (request: Pick<IncomingMessage, 'headers' | 'rawHeaders'>) => Promise<Who>

const COOKIE = 'heat-to-pan'

export function whoSendsBy(read: TokenReader): WhoSends {
  return async (request) => read(tokenOf(request))
}

/** The token a request comes with. Throws NotLetIn when there is none, or more than one. */
export function tokenOf({
  headers,
  rawHeaders,
}: Pick<IncomingMessage, 'headers' | 'rawHeaders'>): string {
  const given = rawHeaders.filter((each, i) => i % 2 === 0 && /^authorization$/i.test(each))
  if (given.length > 1) throw new NotLetIn('UNAUTHENTICATED', 'Send one token, not several.')
  const { authorization, cookie } = headers
  if (authorization !== undefined) {
    const token = /^Bearer +([\w.~+/-]+=*)$/i.exec(authorization)?.[1]
    if (token) return token
    throw new NotLetIn('UNAUTHENTICATED', 'Send the token as authorization: Bearer TOKEN.')
  }
  const tokens = tokensIn(cookie)
  if (tokens.length === 1) return tokens[0]!
  throw new NotLetIn(
    'UNAUTHENTICATED',
    'Sign in first: send a token as authorization: Bearer TOKEN.',
  )
}

/** The cookie that keeps a token where no script can read it; an empty one takes it away. */
export function cookieOf(token: string, { seconds, secure }: { seconds: number; secure: boolean }) {
  const rest = `Path=/; HttpOnly; SameSite=Strict; Max-Age=${seconds}${secure ? '; Secure' : ''}`
  return `${COOKIE}=${token}; ${rest}`
}

/** Whether a request brings a cookie of ours; whether it counts is for whoever reads it. */
export function bringsCookie({ headers }: Pick<IncomingMessage, 'headers'>): boolean {
  return tokensIn(headers.cookie).length > 0
}

/** Those in cookies of ours. */
function tokensIn(header = ''): string[] {
  return header.split(';').flatMap((part) => {
    const at = part.indexOf('=')
    return part.slice(0, at).trim() === COOKIE ? [part.slice(at + 1).trim()] : []
  })
}
