// Control strips, by the names that the pages have for what the API sends.
import type { Gate, StripPlot } from "../types";

export type {
  Gate,
  RGB as Densities,
  StripAim as OwnAim,
  StripChart as Chart,
  StripChartPlot as Plot,
  StripChartPoint as Point,
  StripPlot as Figure,
  StripReference,
  StripSettings,
  StripSignal as Signal,
  StripSince as Since,
  StripSinceRun as SinceRun,
  StripView as StripRow,
} from "../types";

export type StripStanding = StripPlot["standing"];
export type GateIs = Gate["gate"];
