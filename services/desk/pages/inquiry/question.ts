// What an inquiry asks, as its address holds it.
import type { InquiryQueryVariables } from '../../asks/inquiry.ts'

export function inquiryOf(parameters: URLSearchParams): InquiryQueryVariables {
  const said = (name: string) => parameters.get(name)?.trim() ?? ''
  return { mark: said('mark'), customer: said('customer') || null }
}
