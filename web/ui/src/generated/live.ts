// Written by: make types. Not to be changed by hand.
import type { Alert, Unit } from "./api";
export type paths = Record<string, never>;
export type webhooks = Record<string, never>;
export interface components {
    schemas: {
        AlertFrame: {
            alert: Alert;
            at: components["schemas"]["At"];
            /** @constant */
            type: "alert";
        };
        /**
         * Format: date-time
         * @description wetside's clock when the frame was made.
         */
        At: string;
        BeatFrame: {
            at: components["schemas"]["At"];
            /** @constant */
            type: "beat";
        };
        Frame: components["schemas"]["SnapshotFrame"] | components["schemas"]["UnitFrame"] | components["schemas"]["AlertFrame"] | components["schemas"]["BeatFrame"];
        SnapshotFrame: {
            alerts: Alert[];
            at: components["schemas"]["At"];
            /** @constant */
            type: "snapshot";
            units: Unit[];
        };
        UnitFrame: {
            at: components["schemas"]["At"];
            /** @constant */
            type: "unit";
            unit: Unit;
        };
    };
    responses: never;
    parameters: never;
    requestBodies: never;
    headers: never;
    pathItems: never;
}
export type AlertFrame = components['schemas']['AlertFrame'];
export type At = components['schemas']['At'];
export type BeatFrame = components['schemas']['BeatFrame'];
export type Frame = components['schemas']['Frame'];
export type SnapshotFrame = components['schemas']['SnapshotFrame'];
export type UnitFrame = components['schemas']['UnitFrame'];
export type $defs = Record<string, never>;
export type operations = Record<string, never>;
