export type NotLetInCode = 'UNAUTHENTICATED' | 'FORBIDDEN' | 'ISSUER_AWAY'

const STATUS = { UNAUTHENTICATED: 401, FORBIDDEN: 403, ISSUER_AWAY: 503 } as const

/** Why somebody is not let in: one sentence that names no token and repeats nothing of one. */
export class NotLetIn extends Error {
  readonly code: NotLetInCode
  readonly status: number
  readonly headers: Readonly<Record<string, string>>

  constructor(code: NotLetInCode, sentence: string) {
    super(sentence)
    this.name = 'NotLetIn'
    this.code = code
    this.status = STATUS[code]
    this.headers =
      code === 'UNAUTHENTICATED'
        ? { 'www-authenticate': 'Bearer realm="heat-to-pan"' }
        : code === 'ISSUER_AWAY'
          ? { 'retry-after': '5' }
          : {}
  }
}
