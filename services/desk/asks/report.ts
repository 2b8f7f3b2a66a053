// Made by npm run asks from report.graphql.
import type { Ask } from '../frame/ask.ts'

/** Internal type. DO NOT USE DIRECTLY. */
type Exact<T extends { [key: string]: unknown }> = { [K in keyof T]: T[K] };
/** Internal type. DO NOT USE DIRECTLY. */
export type Incremental<T> = T | { [P in keyof T]?: P extends ' $fragmentName' | '__typename' ? T[P] : never };
export type Station =
  | 'RECEIVE'
  | 'MELT'
  | 'MOLD'
  | 'POUR'
  | 'CLEAN'
  | 'SEASON'
  | 'INSPECT'
  | 'SHIP'
  | 'QUALITY';

export type ReportQueryVariables = Exact<{
  of: string;
  entered: boolean;
}>;


export type ReportQuery = { node:
    | { __typename: 'Balance' }
    | { __typename: 'Load', id: string, reports: { totalCount: number, edges: Array<{ node: { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> } }> } }
    | { __typename: 'Tote', id: string, reports: { totalCount: number, edges: Array<{ node: { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> } }> } }
    | { __typename: 'Pack', id: string, reports: { totalCount: number, edges: Array<{ node: { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> } }> } }
    | { __typename: 'Pan', id: string, reports: { totalCount: number, edges: Array<{ node: { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> } }> } }
    | { __typename: 'Shipment', id: string, reports: { totalCount: number, edges: Array<{ node: { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> } }> } }
    | { __typename: 'Inspection' }
    | { __typename: 'Causes' }
    | { __typename: 'Concentration' }
    | { __typename: 'Lot', id: string, reports: { totalCount: number, edges: Array<{ node: { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> } }> } }
    | { __typename: 'Bin', id: string, reports: { totalCount: number, edges: Array<{ node: { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> } }> } }
    | { __typename: 'Charge', id: string, reports: { totalCount: number, edges: Array<{ node: { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> } }> } }
    | { __typename: 'Hold' }
    | { __typename: 'Recall' }
    | { __typename: 'Drill' }
    | { __typename: 'Complaint' }
    | { __typename: 'Chart' }
    | { __typename: 'Capability' }
    | { __typename: 'Furnace', id: string, reports: { totalCount: number, edges: Array<{ node: { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> } }> } }
    | { __typename: 'Heat', id: string, reports: { totalCount: number, edges: Array<{ node: { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> } }> } }
    | { __typename: 'Ladle', id: string, reports: { totalCount: number, edges: Array<{ node: { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> } }> } }
    | { __typename: 'Sand', id: string, reports: { totalCount: number, edges: Array<{ node: { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> } }> } }
    | { __typename: 'Molds', id: string, reports: { totalCount: number, edges: Array<{ node: { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> } }> } }
    | { __typename: 'Pour', id: string, reports: { totalCount: number, edges: Array<{ node: { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> } }> } }
    | { __typename: 'Origins' }
    | { __typename: 'RateChart' }
    | { __typename: 'Rates' }
    | { __typename: 'Reach' }
    | { __typename: 'Report', id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string>, entered?: Array<{ field: string, value: string, unit: string | null }>, replacedBy: { id: string, sentence: string, recordedAt: string } | null, replaces: { id: string, sentence: string, recordedAt: string } | null }
   | null };

export type SaidFragment = { id: string, station: Station, type: string | null, source: string | null, sentence: string, happenedAt: string | null, recordedAt: string, inForce: boolean, setAsideFor: string | null, flags: Array<string> };

export type ComplaintsQueryVariables = Exact<{ [key: string]: never; }>;


export type ComplaintsQuery = { complaints: { edges: Array<{ node: { id: string, at: string, marks: Array<string>, defect: string | null, confirmed: boolean | null, hurt: boolean, callBackAt: string | null, calledBackAt: string | null, product: { name: string } | null } }> } };

export const askReport: Ask<ReportQuery, ReportQueryVariables> = {"document":"sha256:598570ce05d6e7a442df1c9c67e9daf96cdf5c55480b64172791f336232c3145","operation":"Report"}

export const askComplaints: Ask<ComplaintsQuery, ComplaintsQueryVariables> = {"document":"sha256:598570ce05d6e7a442df1c9c67e9daf96cdf5c55480b64172791f336232c3145","operation":"Complaints"}
