// JSON Web Tokens (RFC 7519) as BCP 225 (RFC 8725) asks for them: algorithms from a list of ours, keys from
// where we look and never from the token, issuer, audience and end always held to.
import { errors, type JWTPayload, type JWTVerifyGetKey, jwtVerify } from 'jose'
import type { Station } from '../events/fact.ts'
import { NotLetIn } from './not-let-in.ts'
import { isRole, REPORTING, type Role, type Who } from './who.ts'

/** Such as are signed with a key nobody here has. */
export const ALGORITHMS = ['EdDSA', 'Ed25519', 'ES256', 'ES384', 'PS256', 'RS256']
/** Between the clocks of the issuer and ours. Unit: s. */
const TOLERANCE_SECONDS = 5
const LONGEST_TOKEN = 4_096
const KNOWN_MS = 60_000
const MOST_KNOWN = 1_000

export interface TokenRules {
  issuer: string
  audience: string
  /** Whatever a token says of its own end, it counts no longer after it was made. Unit: h. */
  hours: number
  /** Where a token says roles; with dots, inside of objects. */
  rolesClaim: string
  /** The plant of the house. */
  plant: string
  keys: JWTVerifyGetKey
}

export type TokenReader = (token: string) => Promise<Who>

/**
 * Reads tokens into who sent them. Throws NotLetIn. One that counted is taken to count for a minute, if it does
 * not end before: so long a key that was withdrawn may still let in.
 */
export function tokenReader(rules: TokenRules): TokenReader {
  const { keys, issuer, audience, hours } = rules
  const known = new Map<string, { who: Who; untilMs: number }>()
  return async (token) => {
    if (token.length > LONGEST_TOKEN)
      throw new NotLetIn('UNAUTHENTICATED', `A token may have ${LONGEST_TOKEN} signs.`)
    const found = known.get(token)
    if (found && Date.now() < found.untilMs) return found.who
    known.delete(token)
    const who = await read(token)
    if (known.size >= MOST_KNOWN) known.clear()
    known.set(token, { who, untilMs: Math.min(who.untilMs, Date.now() + KNOWN_MS) })
    return who
  }

  async function read(token: string): Promise<Who> {
    try {
      const { payload } = await jwtVerify(token, keys, {
        ...{ issuer, audience, algorithms: ALGORITHMS },
        requiredClaims: ['exp', 'iat', 'sub'],
        ...{ maxTokenAge: hours * 3_600, clockTolerance: TOLERANCE_SECONDS },
      })
      return whoIn(payload, rules)
    } catch (error) {
      if (error instanceof NotLetIn) throw error
      throw new NotLetIn('UNAUTHENTICATED', sentenceOf(error))
    }
  }
}

function whoIn(payload: JWTPayload, { rolesClaim, plant, hours }: TokenRules): Who {
  const subject = payload.sub!
  if (!/^[^\p{Cc}\p{Cs}]{1,200}$/u.test(subject))
    throw new NotLetIn('UNAUTHENTICATED', 'The token names nobody by a plain name.')
  if (payload.plant !== plant)
    throw new NotLetIn('FORBIDDEN', 'The token is for another plant than this house.')
  const roles = new Set(listed(memberAt(payload, rolesClaim)).filter(isRole))
  return {
    ...{ subject, roles, plant, stations: stationsIn(payload, roles) },
    untilMs: Math.min(payload.exp!, payload.iat! + hours * 3_600) * 1_000,
  }
}

function stationsIn(payload: JWTPayload, roles: ReadonlySet<Role>): ReadonlySet<Station> {
  const named = roles.has('station') ? listed(payload.station) : []
  return new Set(REPORTING.filter((station) => named.includes(station)))
}

/** One word, or several. */
function listed(said: unknown): unknown[] {
  return Array.isArray(said) ? said : [said]
}

function memberAt(payload: JWTPayload, path: string): unknown {
  let found: unknown = payload
  for (const name of path.split('.'))
    found =
      typeof found === 'object' && found !== null && Object.hasOwn(found, name)
        ? (found as Record<string, unknown>)[name]
        : undefined
  return found
}

function sentenceOf(error: unknown): string {
  if (error instanceof errors.JWTExpired) return 'The token has expired: sign in again.'
  if (error instanceof errors.JWTClaimValidationFailed)
    return `The token does not count here: ${error.claim} is not what it must be.`
  return 'The token does not count here.'
}
