import { GraphQLError } from 'graphql'

/** What a caller did wrong, as programs read it. Everything else that goes wrong is ours. */
export type RefusalCode = 'BAD_USER_INPUT' | 'BAD_CURSOR' | 'TOO_MUCH' | 'TOO_OFTEN' | 'FORBIDDEN'

/** An error for the caller: the sentence names what to put right. */
export function refusal(code: RefusalCode, sentence: string): GraphQLError {
  // What one reader may not see need not spoil the rest of the answer.
  const http = code === 'FORBIDDEN' ? {} : { http: { status: code === 'TOO_OFTEN' ? 429 : 400 } }
  return new GraphQLError(sentence, { extensions: { code, ...http } })
}
