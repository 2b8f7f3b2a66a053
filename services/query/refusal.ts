import { GraphQLError } from 'graphql'

/** What a caller did wrong, as programs read it. Everything else that goes wrong is ours. */
export type RefusalCode = 'BAD_USER_INPUT' | 'BAD_CURSOR' | 'TOO_MUCH'

/** An error for the caller: the sentence names what to put right. */
export function refusal(code: RefusalCode, sentence: string): GraphQLError {
  return new GraphQLError(sentence, { extensions: { code, http: { status: 400 } } })
}
