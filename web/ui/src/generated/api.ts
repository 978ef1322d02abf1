// Written by: make types. Not to be changed by hand.
export type paths = Record<string, never>;
export type webhooks = Record<string, never>;
export interface components {
    schemas: {
        AcknowledgeRequest: {
            /** @description What was found or done. */
            note?: string;
        };
        /** @description Something that is wrong or was, with what follows from it and what to do. */
        Alert: {
            /**
             * Format: date-time
             * @description When somebody acknowledged it.
             * @example 2026-03-01T09:30:00.000Z
             */
            acknowledged_at: string | null;
            acknowledged_by?: string;
            /**
             * Format: date-time
             * @description When it returned to normal; null while it lasts.
             * @example 2026-03-01T09:30:00.000Z
             */
            cleared_at: string | null;
            /** @description What follows from it. */
            consequence: string;
            /** @description The figures behind it. */
            facts: {
                [key: string]: unknown;
            };
            /** @description It had ended when it was noticed: shown, not paged. */
            found_afterwards: boolean;
            held?: string;
            id: string;
            /** @description What is wrong. */
            message: string;
            /**
             * Format: date-time
             * @description When wetside noticed it, by our clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            noticed_at: string;
            /**
             * Format: int64
             * @description How often the condition has come, from 1.
             */
            occurrence: number;
            /**
             * @description urgent: within minutes. high: within the hour. low: on the board only.
             * @enum {string}
             */
            priority: "urgent" | "high" | "low";
            /**
             * Format: date-time
             * @description When the condition held, by the unit's clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            raised_at: string;
            /** @description What to do. */
            response: string;
            /** @description The rule that raised it. */
            rule: string;
            /** @description The id of the run. */
            run?: string;
            shelved_by?: string;
            shelved_reason?: string;
            /**
             * Format: date-time
             * @description Until when it is shelved.
             * @example 2026-03-01T09:30:00.000Z
             */
            shelved_until: string | null;
            /**
             * @description Where it stands. Open means not closed.
             * @enum {string}
             */
            state: "unacknowledged" | "acknowledged" | "cleared-unacknowledged" | "closed";
            /** @description The step's id, such as developer. */
            step?: string;
            /** @description What it is about, such as a container. */
            subject?: string;
            /** @description The unit, lab/unit. */
            unit: string;
            /** @description Withdrawn: later data shows that it did not happen. */
            withdrawn?: boolean;
        };
        /** @description An alert with its history. */
        AlertDetail: {
            /**
             * Format: date-time
             * @description When somebody acknowledged it.
             * @example 2026-03-01T09:30:00.000Z
             */
            acknowledged_at: string | null;
            acknowledged_by?: string;
            /**
             * Format: date-time
             * @description When it returned to normal; null while it lasts.
             * @example 2026-03-01T09:30:00.000Z
             */
            cleared_at: string | null;
            /** @description What follows from it. */
            consequence: string;
            /** @description The figures behind it. */
            facts: {
                [key: string]: unknown;
            };
            /** @description It had ended when it was noticed: shown, not paged. */
            found_afterwards: boolean;
            held?: string;
            history: components["schemas"]["AlertHistory"][];
            id: string;
            /** @description What is wrong. */
            message: string;
            /**
             * Format: date-time
             * @description When wetside noticed it, by our clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            noticed_at: string;
            /**
             * Format: int64
             * @description How often the condition has come, from 1.
             */
            occurrence: number;
            /**
             * @description urgent: within minutes. high: within the hour. low: on the board only.
             * @enum {string}
             */
            priority: "urgent" | "high" | "low";
            /**
             * Format: date-time
             * @description When the condition held, by the unit's clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            raised_at: string;
            /** @description What to do. */
            response: string;
            /** @description The rule that raised it. */
            rule: string;
            /** @description The id of the run. */
            run?: string;
            shelved_by?: string;
            shelved_reason?: string;
            /**
             * Format: date-time
             * @description Until when it is shelved.
             * @example 2026-03-01T09:30:00.000Z
             */
            shelved_until: string | null;
            /**
             * @description Where it stands. Open means not closed.
             * @enum {string}
             */
            state: "unacknowledged" | "acknowledged" | "cleared-unacknowledged" | "closed";
            /** @description The step's id, such as developer. */
            step?: string;
            /** @description What it is about, such as a container. */
            subject?: string;
            /** @description The unit, lab/unit. */
            unit: string;
            /** @description Withdrawn: later data shows that it did not happen. */
            withdrawn?: boolean;
        };
        /** @description How the alerting of a period did. */
        AlertFigures: {
            /** Format: int64 */
            alerts: number;
            /** Format: int64 */
            found: number;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            from: string;
            measures: components["schemas"]["Gauge"][];
            /** Format: int64 */
            pages: number;
            people: components["schemas"]["PersonFigures"][];
            rules: components["schemas"]["RuleFigures"][];
            spread: components["schemas"]["Share"][];
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            to: string;
        };
        /** @description One entry of an alert's history. */
        AlertHistory: {
            /**
             * Format: date-time
             * @description When wetside recorded it.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who did it. */
            by?: string;
            note?: string;
            /** Format: int64 */
            occurrence: number;
            /** @description What happened: raised, returned, cleared, acknowledged, shelved, unshelved, withdrawn, closed, priority. */
            what: string;
        };
        AlertList: {
            alerts: components["schemas"]["Alert"][];
        };
        /** @description All pages about one alert. */
        AlertPages: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            answered_at: string | null;
            answered_by: string;
            /** @description When the escalation goes on; null: nobody else is called. */
            next: components["schemas"]["NextPage"] | null;
            pages: components["schemas"]["PageView"][];
        };
        AnswerRequest: {
            /**
             * @description One of the answers that the reason offered.
             * @enum {string}
             */
            answer: "first" | "now" | "here" | "other" | "rescue" | "reprocess" | "not-there";
            /**
             * @description Which question, as the reason named it.
             * @enum {string}
             */
            code: "roll-differs" | "roll-elsewhere" | "roll-ran";
            /** @description As the reason named it: an answer counts for that unit or run only. */
            of?: string;
            /** @description The roll's twin check. */
            roll: string;
        };
        /** @description Whether something is there, and why not. */
        Available: {
            available: boolean;
            why: string;
        };
        /** @description One place of the envelope of the good runs. */
        BandPoint: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** Format: double */
            high: number;
            /** Format: double */
            low: number;
        };
        Batch: {
            /** @description The id of the last good run before; null where none was found. */
            last_good: string | null;
            /** @description The id of the next good run after; null while there is none. */
            next_good: string | null;
            /** @description The process id, such as c41. */
            process: string;
            runs: components["schemas"]["BatchRun"][];
            /** @description The unit, lab/unit. */
            unit: string;
        };
        /** @description A run of a batch, with its reasons. */
        BatchRun: {
            /** @description The codes of its reasons. */
            codes: string[];
            /** @description The id of the run. */
            run: components["schemas"]["Run"];
            /** @description Those that it has in common with the run asked about. */
            shared: string[];
        };
        /** @description The liquid on the film against its limits. */
        Bath: {
            /**
             * Format: date-time
             * @description When it was measured.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string | null;
            /**
             * Format: double
             * @description Temperature, degrees Celsius; null where it was not measured.
             */
            c: number | null;
            /** @description What the probe says now, where that cannot be the liquid and is not believed; c is then the last that was. Absent: the probe is believed. */
            doubtful?: components["schemas"]["Doubtful"];
            /**
             * Format: double
             * @description Upper limit, degrees Celsius.
             */
            high_c: number | null;
            /**
             * Format: double
             * @description Lower limit, degrees Celsius.
             */
            low_c: number | null;
            /**
             * @description How it stands against its limits.
             * @enum {string}
             */
            standing: "within" | "outside" | "settling" | "unknown";
        };
        /** @description Which books the lab writes. */
        BooksUsed: {
            /** @description A mix was written, or a limit for one was set. */
            mixes: boolean;
            /** @description The waste log has begun. */
            waste: boolean;
        };
        /** @description Which mix stands where on a unit. */
        BottleList: {
            /** @description The unit's positions by process and step, and any other that a mix stands at. */
            bottles: components["schemas"]["BottleView"][];
        };
        BottleRequest: {
            /**
             * Format: date-time
             * @description Since when it stands there; absent: now. What ran since then is counted to it.
             */
            at?: string;
            /**
             * @description The mix's label; empty: what stands at the position is not known from now on.
             * @example MIX-7QK2F
             */
            mix: string;
            /**
             * @description What the unit draws from; absent: the solution's own, process/step.
             * @example c41/developer
             */
            position?: string;
        };
        /** @description A position of a unit with what stands there. */
        BottleView: {
            /** @description The mix; empty: not known. */
            mix: string;
            /** @description What people call the solution. */
            name: string;
            /** @description What the unit draws from. */
            position: string;
            /**
             * Format: date-time
             * @description Since when it stands there; null: not known.
             * @example 2026-03-01T09:30:00.000Z
             */
            since: string | null;
            /** @description How the mix stands; null: not known. */
            state: components["schemas"]["MixState"] | null;
            /** @description The mix in words; empty: not known. */
            text: string;
        };
        CapacityRequest: {
            /**
             * Format: double
             * @description How many liters it holds when it is full; 0: what the unit itself says.
             */
            capacity_l: number;
        };
        /** @description One cause that fits a fault. */
        Cause: {
            against: string;
            evidence: string;
            source: string;
            standing: string;
            /** @description The step's id, such as developer. */
            step?: string;
            tell: string;
            /** @description The same in words. */
            text: string;
        };
        ChangeList: {
            changes: components["schemas"]["SettingChange"][];
        };
        CheckList: {
            checks: components["schemas"]["UnitCheck"][];
            history: components["schemas"]["EntryView"][];
        };
        CheckRequest: {
            /**
             * Format: date-time
             * @description When; absent: now.
             */
            at?: string;
            /** @description The check's id. */
            check: string;
            /** @description What was found or done. */
            note?: string;
            /** @description false: it found a fault. */
            ok: boolean;
            /**
             * Format: double
             * @description What was measured, where something was.
             */
            value?: number;
        };
        /** @description The lab's limits for mixes, and its recipes. */
        ChemistrySettings: {
            /** @description What a tank needs to cover its reels. */
            covers?: components["schemas"]["TankCover"][];
            /** @description Limits by solution. What is not named has none, unless a published one is taken over. */
            limits?: components["schemas"]["MixLimit"][];
            /** @description The lab's own recipes. */
            recipes?: components["schemas"]["Recipe"][];
        };
        /** @description What mixes are judged by. */
        ChemistryView: {
            /** @description What a tank needs to cover its reels. */
            covers?: components["schemas"]["TankCover"][];
            /** @description Limits by solution. What is not named has none, unless a published one is taken over. */
            limits?: components["schemas"]["MixLimit"][];
            /** @description Limits that a source gives: used for a solution of which the lab has set none. */
            published: components["schemas"]["MixLimit"][];
            /** @description The lab's own recipes. */
            recipes?: components["schemas"]["Recipe"][];
        };
        CloseRequest: {
            /** @description true: nobody is here, pages that concern no run wait. false: open again. */
            closed: boolean;
            /** @description When it opens by itself; absent: when somebody opens it. */
            until?: string;
        };
        /** @description The run beside the good runs of its process, push and unit. */
        Comparison: {
            findings: components["schemas"]["Finding"][];
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            from: string;
            /**
             * Format: int64
             * @description How many good runs.
             */
            runs: number;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            to: string;
        };
        ContactsRequest: {
            mail?: string;
            /** @description push, webhook and mail, in the order they are tried. */
            ways: string[] | null;
            /** @description The address that pages are posted to, signed as Standard Webhooks 1.0.0 says. */
            webhook?: string;
            /** @description The key that signs them, whsec_ and 24 to 64 bytes in base64. Absent: the one there is, or a new one. */
            webhook_secret?: string;
        };
        /** @description How a person is reached. */
        ContactsView: {
            mail: string;
            person: string;
            /** @description Push in stops asked for: + pushed, - pulled. */
            push: components["schemas"]["PushSubscription"][];
            /** @description In the order they are tried. */
            ways: string[];
            webhook: string;
            /**
             * Format: date-time
             * @description When its other end said that it is gone (410); null while it is used.
             * @example 2026-03-01T09:30:00.000Z
             */
            webhook_off: string | null;
            /** @description The key that signs the webhook; in the answer that made it only. */
            webhook_secret: string;
            webhook_signed: boolean;
        };
        /** @description A tank or bottle and what it holds. */
        Container: {
            /**
             * Format: date-time
             * @description When its level was received, or measured by a person.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string | null;
            /**
             * Format: double
             * @description What it can hold, liters.
             */
            capacity_l: number;
            /** @description What people did to it last, as its probe showed it: the level changed faster than any leak while no pump ran. */
            changed?: components["schemas"]["LevelChange"];
            /** @description Its float switch is closed. */
            float_closed?: boolean;
            /**
             * Format: double
             * @description How full it is, 0 to 1.
             */
            fraction: number | null;
            /**
             * Format: date-time
             * @description When, at the pace of the runs that began within the last 12 hours, the first run may begin that it will not do for: at the earliest. Absent with lasts_why.
             * @example 2026-03-01T09:30:00.000Z
             */
            lasts_from?: string;
            /**
             * Format: date-time
             * @description The same at the latest. Equal to lasts_from where the runs left are known to the run.
             * @example 2026-03-01T09:30:00.000Z
             */
            lasts_to?: string;
            /**
             * @description Why no time is given: no level was received, what a run moves is not known, fewer than two runs began today, such a run does not touch it, or it lasts for 12 hours and more.
             * @enum {string}
             */
            lasts_why?: "no-level" | "no-volumes" | "no-pace" | "untouched" | "beyond-today";
            /**
             * @description What the level rests on: a probe that sends levels, or the volumes that the unit moved, counted since a person said what it held.
             * @enum {string}
             */
            level_by?: "probe" | "counted";
            /**
             * Format: double
             * @description What it holds, liters; null where no level was received.
             */
            litres: number | null;
            /** @description The level that a person measured last (container event "set"), until somebody does something to the container. */
            measured?: components["schemas"]["MeasuredLevel"];
            name: string;
            /**
             * @description Whose run showed next_run_l: the one that goes on, the unit's own last, that of another unit of the model.
             * @enum {string}
             */
            next_run_by?: "run" | "unit" | "model";
            /**
             * Format: double
             * @description What the next run will, liters. Absent: not known, since no such run was received from its first message to its end.
             */
            next_run_l?: number;
            /**
             * Format: double
             * @description What this run will still drain into it or draw from it, liters.
             */
            owed_l?: number;
            /**
             * @description What it is for.
             * @enum {string}
             */
            role: "waste" | "wash" | "recovery" | "bottle";
            /**
             * Format: int64
             * @description How many more runs it will serve after this one: like the run that goes on, else of what is loaded, else like the last film. Null: not known, or such a run does not touch it (then next_run_l is 0).
             */
            runs_left: number | null;
            /**
             * Format: int64
             * @description The most that it may be. The same as runs_left_low where it is known to the run.
             */
            runs_left_high?: number;
            /**
             * Format: int64
             * @description The fewest that runs_left may be: two spreads from the best estimate. Present with runs_left.
             */
            runs_left_low?: number;
            /**
             * Format: double
             * @description How far that may be off, liters: one standard deviation of the estimate.
             */
            spread_l?: number;
        };
        ContainerEventList: {
            events: components["schemas"]["ContainerEventView"][];
        };
        ContainerEventRequest: {
            /**
             * Format: date-time
             * @description When it was done. Absent: now.
             */
            at?: string;
            /**
             * Format: double
             * @description topped-up: liters that were added; absent: filled up. set: liters that it holds now; required. emptied, swapped: liters in it now; absent: an empty waste container, a full bottle.
             */
            litres?: number;
            /** @description What else is to be known. */
            note?: string;
            /**
             * @description What was done.
             * @enum {string}
             */
            what: "emptied" | "topped-up" | "swapped" | "set";
        };
        /** @description What a person did to a container. */
        ContainerEventView: {
            /**
             * Format: date-time
             * @description When it was done.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            /** @description The container. */
            container: string;
            /**
             * Format: date-time
             * @description When it was entered, by our clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            entered: string;
            id: string;
            /**
             * Format: double
             * @description topped-up: liters added. Else liters in it then. Null where nobody said.
             */
            litres: number | null;
            note?: string;
            /** @description Who undid it and when; null while it holds. */
            taken_back: components["schemas"]["TakenBack"] | null;
            /**
             * @description What was done.
             * @enum {string}
             */
            what: "emptied" | "topped-up" | "swapped" | "set";
        };
        /** @description What the run will draw from a container or drain into it. */
        ContainerNeed: {
            /**
             * Format: double
             * @description What is in it, or the room left in waste and recovery, after the run going on now, liters; null where no level was received.
             */
            has_l: number | null;
            /** @description The container. */
            name: string;
            /**
             * Format: double
             * @description What a run like the unit's last draws from it or drains into it, liters; null where that is not known.
             */
            needs_l: number | null;
            /**
             * @description What it is for.
             * @enum {string}
             */
            role: "waste" | "wash" | "recovery" | "bottle";
            /**
             * Format: int64
             * @description The most. The same as runs_low where it is known to the run.
             */
            runs_high?: number;
            /**
             * Format: int64
             * @description For how many runs like this one it will do, this one counted: the fewest, two spreads of its level from the best estimate. Absent: not known, or such a run does not touch it.
             */
            runs_low?: number;
            /**
             * @description Whether it will do.
             * @enum {string}
             */
            standing: "enough" | "short" | "unknown";
        };
        ContinuesRequest: {
            /** @description The id of the earlier run of the same unit; null: of none, it has its own film. */
            run: string | null;
        };
        /** @description One reading; a null breaks the line. */
        CurvePoint: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** Format: double */
            c: number | null;
        };
        DarkAnswer: {
            person: string;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            until: string | null;
        };
        DarkRequest: {
            /**
             * Format: int64
             * @description For how long; 0: the light is on again.
             */
            minutes: number;
            /** @description Who works in the dark. Absent: who is signed in. */
            person?: string;
        };
        /** @description What a person decided about a run. */
        Decision: {
            /**
             * Format: date-time
             * @description When it was decided.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            /**
             * Format: date-time
             * @description When the customer was told.
             * @example 2026-03-01T09:30:00.000Z
             */
            customer_told_at?: string;
            /**
             * @description correct: in scan or print. lost: the film is lost.
             * @enum {string}
             */
            decision: "release" | "hold" | "reprocess" | "correct" | "lost";
            /** @description Why, and what was agreed. */
            note?: string;
            /** @description Rolls of film; empty where nobody scanned them. */
            rolls?: string[];
        };
        DecisionRequest: {
            /**
             * Format: date-time
             * @description When the customer was told.
             */
            customer_told_at?: string;
            /**
             * @description correct: in scan or print. lost: the film is lost.
             * @enum {string}
             */
            decision: "release" | "hold" | "reprocess" | "correct" | "lost";
            /** @description Why, and what was agreed. */
            note?: string;
            /** @description Twin checks of the rolls that it is about. Absent: the run, and with it every roll that has no decision of its own. */
            rolls?: string[] | null;
        };
        /** @description What was decided, run by run. */
        DecisionsAnswer: {
            decided: string[];
            refused: components["schemas"]["RefusedDecision"][];
        };
        DecisionsRequest: {
            /**
             * @description What becomes of their film.
             * @enum {string}
             */
            decision: "release" | "hold" | "reprocess" | "correct" | "lost";
            /** @description Why, and what was agreed. */
            note?: string;
            /** @description Ids of the runs. */
            runs: string[] | null;
        };
        DeveloperChoice: {
            developer: string;
            /** @description The process id, such as c41. */
            process: string;
            /** @description The step's id, such as developer. */
            step: string;
        };
        DeveloperFigure: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            developer: string;
            /**
             * Format: date-time
             * @description When it was entered, by our clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            entered: string;
            id: string;
            /** @description The process id, such as c41. */
            process: string;
            /** @description The step's id, such as developer. */
            step: string;
        };
        DeveloperList: {
            developers: components["schemas"]["DeveloperView"][];
        };
        DeveloperRequest: {
            /** @description The id of one of GET /developers; empty: the sheet's own. */
            developer: string;
            /**
             * @description The process id, such as c41.
             * @example bw
             */
            process: string;
            /**
             * @description The step's id, such as developer.
             * @example developer
             */
            step: string;
        };
        DeveloperSource: {
            figure: string;
            from: string;
            memory: boolean;
            standing: string;
        };
        DeveloperTime: {
            /**
             * Format: double
             * @description At this temperature, degrees Celsius,
             */
            at_c: number;
            /**
             * Format: double
             * @description it takes this long, seconds.
             */
            time_s: number;
        };
        /** @description How fast one developer works at other temperatures. */
        DeveloperView: {
            brew: string;
            dilution: string;
            film: string;
            format: string;
            id: string;
            name: string;
            note?: string;
            sources: components["schemas"]["DeveloperSource"][];
            times: components["schemas"]["DeveloperTime"][];
        };
        /** @description A reading of the bath that is not believed. */
        Doubtful: {
            /**
             * Format: date-time
             * @description When it was said.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /**
             * Format: double
             * @description What it says, degrees Celsius.
             */
            c: number;
            /**
             * @description Why it is not believed: beyond what the process could ever be; faster than a liquid changes; the same to the last digit for too long; in degrees Fahrenheit.
             * @enum {string}
             */
            why: "range" | "jump" | "flat" | "fahrenheit";
        };
        /** @description A phone that stays dark: its owner works in the dark. */
        DutyDark: {
            person: string;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            until: string;
        };
        /** @description One line of the record of who changed what. */
        DutyEntry: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            detail: {
                [key: string]: unknown;
            };
            /** Format: int64 */
            id: number;
            person?: string;
            /** @description plan, swap, swap-ended, dark, contacts, subscribed, unsubscribed, switched-off, page-test, weekly-test, page-link, role, person-removed or links-withdrawn. */
            what: string;
        };
        /** @description Something wrong with paging itself. */
        DutyFault: {
            /**
             * @description What it is.
             * @enum {string}
             */
            code: "nobody-on-duty" | "nobody-reachable" | "on-call-unreachable" | "soon-on-call-unreachable" | "no-plan" | "pages-not-going-out" | "way-failing" | "all-dark" | "no-address" | "heartbeat-failing" | "records-not-sealed" | "unit-not-judged" | "rules-stand-still" | "broker-away" | "database-away" | "disk-space-low" | "taken-over";
            /**
             * Format: date-time
             * @description Since when; null where that is not known.
             * @example 2026-03-01T09:30:00.000Z
             */
            since: string | null;
            /** @description The same in words. */
            text: string;
        };
        /** @description How often one phone may ring. */
        DutyFlood: {
            /**
             * Format: int64
             * @description How long the second message waits for others to join it, seconds.
             */
            gather_s: number;
            /**
             * Format: int64
             * @description In so long, seconds.
             */
            in_s: number;
            /**
             * Format: int64
             * @description At most so many messages in in_s; 0: no bound.
             */
            pages: number;
        };
        /** @description A stretch in which nobody is on call. */
        DutyGap: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            from: string;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            to: string;
        };
        /** @description Who is on call in some hours of some days. */
        DutyHours: {
            /** @description Days on which the hours begin: mon to sun. */
            days: string[];
            /** @description Wall clock of the lab, such as 08:00. */
            from: string;
            /** @description Who is on call, who is called first in front. */
            people: string[];
            /** @description Wall clock of the lab, such as 08:00. At or before from: the next day. */
            to: string;
        };
        /** @description Who is on call, and the plan behind it. */
        DutyNow: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            changed_at: string | null;
            changed_by: string;
            dark: components["schemas"]["DutyDark"][];
            /** @description Stretches of the next 7 days in which nobody is on call. */
            gaps: components["schemas"]["DutyGap"][];
            /** @description Who is on call now, who is called first in front. */
            on: string[];
            people: components["schemas"]["DutyPerson"][];
            plan: components["schemas"]["DutyPlan"];
            /**
             * Format: date-time
             * @description Quiet hours hold until then; null outside of them.
             * @example 2026-03-01T09:30:00.000Z
             */
            quiet_until: string | null;
            /** @description False: this is the built-in plan, which names nobody. */
            set: boolean;
            swaps: components["schemas"]["DutySwap"][];
            /**
             * Format: int64
             * @description Rises with every change; give it back when changing the plan.
             */
            version: number;
            /** @description What is wrong with the plan, in words. */
            warnings: string[];
        };
        /** @description Somebody who can be called, or should be. */
        DutyPerson: {
            name: string;
            /**
             * Format: int64
             * @description The place among those on call, from 1; 0: not on call.
             */
            on: number;
            reachable: boolean;
            /**
             * @description What they may do.
             * @enum {string}
             */
            role: "viewer" | "operator" | "lead";
            /** @description Ways that can be tried now, in order. */
            ways: string[];
            /** @description Why no page reaches them; empty where one does. */
            why: string;
        };
        /** @description Who is called when, and how hard. */
        DutyPlan: {
            /** @description Where a phone reaches the board, such as https://board.example. */
            address: string;
            flood: components["schemas"]["DutyFlood"];
            /** @description Steps for what is high; the last repeats. */
            high: components["schemas"]["DutyStep"][];
            hours: components["schemas"]["DutyHours"][];
            /**
             * Format: int64
             * @description How long the link in a page works, hours.
             */
            link_hours: number;
            quiet: components["schemas"]["QuietHours"][];
            /**
             * Format: int64
             * @description After how long the last step repeats, seconds.
             */
            repeat_high_s: number;
            /**
             * Format: int64
             * @description After how long the last step repeats, seconds.
             */
            repeat_urgent_s: number;
            /** @description Waits before each try of a message, seconds; the last repeats. */
            retries_s: number[];
            /** @description IANA name of the lab's time zone. */
            time_zone: string;
            /** @description Steps for what is urgent; the last repeats. */
            urgent: components["schemas"]["DutyStep"][];
            weekly_test?: components["schemas"]["WeeklyTest"];
        };
        DutyRecord: {
            entries: components["schemas"]["DutyEntry"][];
        };
        DutyRequest: {
            plan: components["schemas"]["DutyPlan"];
            /**
             * Format: int64
             * @description The version that the plan was made from; 0 where none was set.
             */
            version: number;
        };
        /** @description Whether an alert would reach a person now. */
        DutyStatus: {
            dark: components["schemas"]["DutyDark"][];
            failing: components["schemas"]["WayFault"][];
            faults: components["schemas"]["DutyFault"][];
            heartbeat: components["schemas"]["HeartbeatNow"];
            mail: components["schemas"]["Available"];
            /**
             * Format: double
             * @description How long the oldest of them has waited, seconds; null where none does.
             */
            oldest_waiting_s: number | null;
            on: string[];
            /** @description Who is on call now, who is called first in front, then who goes on call in the next 12 hours. */
            on_call: components["schemas"]["OnCall"][];
            /** @description Push in stops asked for: + pushed, - pulled. */
            push: components["schemas"]["Available"];
            /**
             * Format: int64
             * @description Messages that should have gone out and did not yet.
             */
            waiting: number;
        };
        /** @description One step of an escalation. */
        DutyStep: {
            /**
             * Format: int64
             * @description After the step before without an acknowledgement, seconds. The second step comes at a quarter of the time to respond at the latest.
             */
            after_s: number;
            /** @description Whom, where named. */
            person?: string;
            /**
             * @description Whom it calls.
             * @enum {string}
             */
            who: "first" | "second" | "everybody" | "named";
        };
        /** @description One person in place of another for a day. */
        DutySwap: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            /** @description The day on which the hours begin, by the lab's clock. */
            day: string;
            /** Format: int64 */
            id: number;
            note?: string;
            off: string;
            /** @description Who stands in; empty: nobody. */
            on: string;
        };
        /** @description What a person stated, did or set. */
        Entry: {
            /**
             * Format: date-time
             * @description When it was so.
             */
            at: string;
            body?: unknown;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            /**
             * Format: date-time
             * @description When it was entered, by our clock.
             */
            entered: string;
            id: string;
            /** @description The id of the run it is of; absent where it is of the unit. */
            run?: string;
            /** @description The unit, lab/unit. */
            unit: string;
            /** @description load, unload, container, turned-by-hand, drained, measured, film, continues, rolls, run-kind, decision, symptom, note, probe, probe-kind, house-aim, developer, strip, strip-gate or bottle. */
            what: string;
        };
        EntryList: {
            entries: components["schemas"]["EntryView"][];
        };
        /** @description What a person stated, did or set: never changed, undone by a later entry. */
        EntryView: {
            /**
             * Format: date-time
             * @description When it was so.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description The particulars, by what. */
            body: {
                [key: string]: unknown;
            };
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            /**
             * Format: date-time
             * @description When it was entered, by our clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            entered: string;
            id: string;
            /** @description The id of the run it is of; absent where it is of the unit. */
            run?: string;
            /** @description Who undid it and when; null while it holds. */
            taken_back: components["schemas"]["TakenBack"] | null;
            /** @description The unit, lab/unit. */
            unit: string;
            /** @description load, unload, container, turned-by-hand, drained, measured, film, continues, rolls, run-kind, decision, symptom, note, probe, probe-kind, house-aim, developer, strip or strip-gate. */
            what: string;
        };
        ErrorDetail: {
            /** @description Where the error occurred, e.g. 'body.items[3].tags' or 'path.thing-id' */
            location?: string;
            /** @description Error message text */
            message?: string;
            /** @description The value at the given location */
            value?: unknown;
        };
        /** @description What went wrong, by RFC 9457. */
        ErrorModel: {
            /**
             * @description A human-readable explanation specific to this occurrence of the problem.
             * @example Property foo is required but is missing.
             */
            detail?: string;
            /** @description Optional list of individual error details */
            errors?: components["schemas"]["ErrorDetail"][];
            /**
             * Format: uri
             * @description A URI reference that identifies the specific occurrence of the problem.
             * @example https://example.com/error-log/abc123
             */
            instance?: string;
            /**
             * Format: int64
             * @description HTTP status code
             * @example 400
             */
            status?: number;
            /**
             * @description A short, human-readable summary of the problem type. This value should not change between occurrences of the error.
             * @example Bad Request
             */
            title?: string;
            /**
             * Format: uri
             * @description A URI reference to human-readable documentation for the error.
             * @default about:blank
             * @example https://example.com/errors/example
             */
            type: string;
        };
        /** @description Whether the run of the last strip accounts for where it stands. */
        Explanation: {
            /** @description Figures that the push error of its run accounts for. */
            explained: string[];
            /** @description In words; empty where the run is not known or nothing is off. */
            text: string;
            /** @description Figures that it does not account for: the chemistry. */
            unexplained: string[];
        };
        /** @description How often a process in control would call, by simulation: strips between two calls, all plots of the chart together. */
        FalseRate: {
            /**
             * Format: double
             * @description Strips between two false calls of control limits at three sigma.
             */
            control_only: number;
            /**
             * Format: int64
             * @description How many figures are plotted.
             */
            plots: number;
            /**
             * Format: double
             * @description Strips between two false calls, all rules together.
             */
            rules: number;
            /** @description Strips between two false calls of each signal alone; 0: never in the simulation. */
            signals: {
                [key: string]: number;
            };
            /**
             * Format: double
             * @description Strips between two false stops of the gate: two in a row beyond a control limit at three sigma; 0: never in the simulation.
             */
            stops: number;
        };
        /** @description One density of a strip. */
        Field: {
            /**
             * @description r: red, g: green, b: blue.
             * @enum {string}
             */
            color: "r" | "g" | "b";
            /** @description What people call it. */
            label: string;
            /** @description The step of the strip. */
            step: string;
        };
        /** @description What changed in one figure. */
        FigureChangeView: {
            figure: string;
            label: string;
            name: string;
            /** @description This lab has its own figure there, which stands. */
            own: boolean;
            /** @description The process id, such as c41. */
            process: string;
            /** @description The step's id, such as developer. */
            step: string;
            /** @description The same in words. */
            text: string;
        };
        /** @description What a unit's runs are judged by beside the sheet. */
        FigureList: {
            /** @description Developers in force. */
            developers: components["schemas"]["DeveloperFigure"][];
            /** @description All that was ever set, newest first. */
            history: components["schemas"]["EntryView"][];
            /** @description House aims in force. */
            house_aims: components["schemas"]["HouseAimFigure"][];
            /** @description The last check of the bath's probe; null: never checked. */
            probe: components["schemas"]["ProbeFigure"] | null;
            probe_kind: components["schemas"]["ProbeKindFigure"] | null;
            /** @description What names that the unit gives its steps mean. */
            step_names: components["schemas"]["StepNameFigure"][];
            /** @description How the unit counts the time in a step; null: from the first in-bath to the last draining. */
            step_time: components["schemas"]["StepTimeFigure"] | null;
        };
        /** @description What changed in the program's own figures that nobody of this lab has said was read. */
        FigureNotice: {
            /** @description Those to be shown; empty: nothing. */
            changes: components["schemas"]["FigureChangeView"][];
            /**
             * Format: int64
             * @description The last lot of changes.
             */
            lot: number;
            /** @description The last lot that a lead said was read; null: none. */
            seen: components["schemas"]["FiguresSeen"] | null;
        };
        FigureRequest: {
            /**
             * Format: date-time
             * @description From when on it counts; runs that began before are not judged by it. Absent: now.
             */
            at?: string;
            /** @description Which developer a bottle holds. */
            developer?: components["schemas"]["DeveloperRequest"];
            /** @description The equivalent time that the lab's good runs get. */
            house_aim?: components["schemas"]["HouseAimRequest"];
            /** @description A check of the bath's probe against a reference thermometer. */
            probe?: components["schemas"]["ProbeRequest"];
            /** @description What kind of probe measures the bath. */
            probe_kind?: components["schemas"]["ProbeKindRequest"];
            /** @description From where to where the unit counts the time in a step. */
            step_time?: components["schemas"]["StepTime"];
        };
        /** @description That changed figures were read, and by whom. */
        FiguresSeen: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            /** Format: int64 */
            lot: number;
        };
        FiguresSeenRequest: {
            /**
             * Format: int64
             * @description The lot that was read, as GET /figure-changes gives it.
             */
            lot: number;
        };
        /** @description The film of a run with its whole way: one film may go through several runs. */
        Film: {
            /** @description It is done, or a person said what was done with it. */
            decided: boolean;
            /** @description Whether it has been fixed. */
            fixed: boolean;
            /** @description The id of its first run. */
            id: string;
            /**
             * Format: double
             * @description The push that its developer was run for, stops.
             */
            push: number;
            /**
             * Format: double
             * @description What the errors of its developer amount to, stops against push.
             */
            push_error_stops: number | null;
            /** @description The runs it went through, oldest first. */
            runs: components["schemas"]["FilmRun"][];
            /** @description What a person said was done with it; absent while nobody has. */
            said?: components["schemas"]["FilmSaid"];
            /**
             * @description Where it is. dry: no bath on it yet. in-bath. wet: out of a bath, not yet at the dryer. done: dried or drying. The rest by what a person said.
             * @enum {string}
             */
            state: "dry" | "in-bath" | "wet" | "done" | "moved" | "dried" | "discarded";
            /** @description The last step it was in. */
            step?: string;
            /**
             * @description How the whole way is judged; null while a run goes on with it.
             * @enum {string|null}
             */
            verdict: "in-control" | "inspect" | "out-of-control" | null;
        };
        /** @description Film in a bath or wet that no run goes on with. */
        FilmLeft: {
            /**
             * Format: date-time
             * @description In a developer: by when to drain it by hand.
             * @example 2026-03-01T09:30:00.000Z
             */
            act_at?: string;
            /** @description Whether a developer is on it. */
            developer?: boolean;
            /** @description Whether it has been fixed. */
            fixed: boolean;
            /**
             * Format: date-time
             * @description Since when no run goes on with it, by the unit's clock; null while that is not known.
             * @example 2026-03-01T09:30:00.000Z
             */
            left_at: string | null;
            /** @description The process id, such as c41. */
            process: string;
            /** @description The id of the last run it was in. */
            run: string;
            /** @description That run's name by the unit. */
            run_name: string;
            /**
             * @description Where it is.
             * @enum {string}
             */
            state: "in-bath" | "wet";
            /** @description The last step it was in. */
            step?: string;
        };
        /** @description Who sees to film until it is decided about. */
        FilmOwnerView: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at?: string;
            name: string;
            said: boolean;
        };
        FilmRequest: {
            /**
             * Format: date-time
             * @description When it was done. Absent: now.
             */
            at?: string;
            /** @description What else is to be known. */
            note?: string;
            /**
             * @description drained: its bath, by hand; the film stays in the tank. moved: to another unit or tank. dried: finished by hand and dried. discarded: given up.
             * @enum {string}
             */
            what: "drained" | "moved" | "dried" | "discarded";
        };
        /** @description One of the runs of a film. */
        FilmRun: {
            /**
             * Format: date-time
             * @description When it ended, by the unit's clock; null while it goes on.
             * @example 2026-03-01T09:30:00.000Z
             */
            ended_at: string | null;
            id: string;
            /**
             * @description How it ended.
             * @enum {string}
             */
            outcome: "running" | "done" | "aborted" | "lost";
            /** @description Nobody said that it goes on with the film: it began soon after, with a later step. A person can undo that. */
            proposed?: boolean;
            /** @description The run's name by the unit. */
            run: string;
            /**
             * Format: date-time
             * @description When it began, by the unit's clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            started_at: string;
        };
        /** @description What a person said was done with film. */
        FilmSaid: {
            /**
             * Format: date-time
             * @description When it was done.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by?: string;
            /**
             * @description What was done.
             * @enum {string}
             */
            what: "drained" | "moved" | "dried" | "discarded";
        };
        /** @description A figure that stands out from the good runs. */
        Finding: {
            feature: string;
            /** Format: double */
            median: number;
            /** @description The step's id, such as developer. */
            step: string;
            /** @description The same in words. */
            text: string;
            /** @description The unit, lab/unit. */
            unit: string;
            /** Format: double */
            value: number;
            /**
             * Format: double
             * @description How far it stands out: 0.6745 (x - median) / MAD.
             */
            z: number;
        };
        /** @description Messages that were not received. */
        Gap: {
            boot: string;
            /** Format: int64 */
            from_seq: number;
            /** Format: int64 */
            to_seq: number;
        };
        /** @description Whether customers' film may go into this chemistry. wetside advises; it stops no unit. */
        Gate: {
            /**
             * @description in: the last strip was in. watch: film may run, find the cause. stop: no customers' film. none: no strips are asked for, and none was read.
             * @enum {string}
             */
            gate: "in" | "watch" | "stop" | "none";
            /**
             * Format: date-time
             * @description When the last strip was read that was in; null: none yet.
             * @example 2026-03-01T09:30:00.000Z
             */
            last_in_at: string | null;
            /** @description What to run now: strip (none was read today) or second-strip (one is beyond a control limit); absent where nothing is asked for. */
            needs?: string;
            /** @description A lead opened it in spite of the strips. */
            opened?: components["schemas"]["Opening"];
            /**
             * Format: date-time
             * @description When the first of the strips was read that are out now; absent where none is.
             * @example 2026-03-01T09:30:00.000Z
             */
            out_since?: string;
            /** @description Why, and what to do. */
            reasons: string[];
        };
        GateRequest: {
            /** @description The mix. Absent: that of the last strip. */
            mix?: string;
            /**
             * @description The process.
             * @example c41
             */
            process: string;
            /** @description Why customers' film may run in spite of the strips. */
            reason: string;
            /**
             * @description The unit, lab/unit.
             * @example tern-street/plover
             */
            unit: string;
        };
        /** @description A figure beside what is acceptable. */
        Gauge: {
            at_least: boolean;
            /** @description A short code of the reason. */
            code: string;
            label: string;
            /**
             * Format: double
             * @description Acceptable up to here, or from here on where at_least is true; null: a figure without a limit.
             */
            limit: number | null;
            ok: boolean | null;
            source: string;
            standing: string;
            /** @description The unit, lab/unit. */
            unit: string;
            /** Format: double */
            value: number | null;
        };
        /** @description What the next shift must know. */
        HandOver: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            attend: components["schemas"]["Unit"][];
            /** Format: int64 */
            closed: number;
            due: components["schemas"]["Job"][];
            ended: components["schemas"]["Run"][];
            held: components["schemas"]["Alert"][];
            open: components["schemas"]["Alert"][];
            running: components["schemas"]["Unit"][];
            shelved: components["schemas"]["Alert"][];
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            since: string;
            undecided: components["schemas"]["UndecidedRun"][];
        };
        /** @description How the heartbeat goes. */
        HeartbeatNow: {
            detail: string;
            /**
             * Format: date-time
             * @description When the other end last took one.
             * @example 2026-03-01T09:30:00.000Z
             */
            last_at: string | null;
            on: boolean;
        };
        /** @description How far the first bath is from its temperature. */
        HeaterPlan: {
            /**
             * Format: double
             * @description What the sheet says, degrees Celsius; null where there is no sheet.
             */
            aim_c: number | null;
            /**
             * Format: double
             * @description The first bath in its bottle, degrees Celsius; null where it was not measured of late.
             */
            c: number | null;
            /**
             * @description Whether the first bath is at its temperature.
             * @enum {string}
             */
            standing: "ready" | "heating" | "unknown";
        };
        /** @description What holds for the whole lab. */
        House: {
            /** @description How often each check of a unit is due, days, by its id; 0: never. */
            check_days?: {
                [key: string]: number;
            };
            /** @description After how many runs of the unit each check is due, by its id, where that comes before its days; absent or 0: by days alone. */
            check_runs?: {
                [key: string]: number;
            };
            /** @description Which units hang on one fuse, by its name. */
            circuits?: {
                [key: string]: string[] | null;
            };
            /** @description A person closed the lab. */
            closed: boolean;
            closed_by?: string;
            /**
             * Format: date-time
             * @description When it opens by itself; null: when somebody opens it.
             * @example 2026-03-01T09:30:00.000Z
             */
            closed_until: string | null;
            /**
             * Format: double
             * @description What the lab's common dryer holds, rolls. 0: each unit dries its own film.
             */
            dryer_holds?: number;
            /**
             * Format: int64
             * @description How long film dries there, minutes.
             */
            dryer_min?: number;
            /** @description Opening hours by weekday, monday to sunday, each a list such as 09:00-18:00. With no day named the lab is always open. */
            hours?: {
                [key: string]: string[] | null;
            };
            /** @description Which units hang on one network, by its name. */
            networks?: {
                [key: string]: string[] | null;
            };
            /** @description What the reels of each unit hold, rolls of 135 or 120, by the unit's id. Absent: the most that its runs of the last 60 days had. */
            reels?: {
                [key: string]: number;
            };
            /** @description IANA name, such as Europe/Dublin. */
            time_zone: string;
            /** @description What pages by phone and mail, webhooks and reports on paper are written in, and the screens of those who chose nothing. Absent: c and l. */
            units?: components["schemas"]["Units"];
        };
        HouseAim: {
            /**
             * Format: double
             * @description Equivalent time at the sheet's temperature, seconds.
             */
            equivalent_s: number;
            /** @description The process id, such as c41. */
            process: string;
            /**
             * Format: double
             * @description Push in stops asked for: + pushed, - pulled.
             */
            push: number;
            /** @description The step's id, such as developer. */
            step: string;
        };
        HouseAimFigure: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            /**
             * Format: date-time
             * @description When it was entered, by our clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            entered: string;
            /**
             * Format: double
             * @description Equivalent time at the sheet's temperature, seconds.
             */
            equivalent_s: number;
            id: string;
            /** @description The process id, such as c41. */
            process: string;
            /**
             * Format: double
             * @description Push in stops asked for: + pushed, - pulled.
             */
            push: number;
            /** @description The step's id, such as developer. */
            step: string;
        };
        HouseAimRequest: {
            /**
             * Format: double
             * @description Equivalent time at the sheet's temperature, seconds; 0: back to the sheet.
             */
            equivalent_s: number;
            /**
             * @description The process id, such as c41.
             * @example c41
             */
            process: string;
            /**
             * Format: double
             * @description Push in stops asked for: + pushed, - pulled.
             */
            push?: number;
            /**
             * @description The step's id, such as developer.
             * @example developer
             */
            step: string;
        };
        /** @description Where a person is needed. */
        Job: {
            /**
             * Format: date-time
             * @description When.
             * @example 2026-03-01T09:30:00.000Z
             */
            due_at: string;
            patient?: boolean;
            /** @description The id of the run. */
            run?: string;
            /** @description The unit, lab/unit. */
            unit: string;
            /** @description What is to be done. */
            what: string;
        };
        JobList: {
            jobs: components["schemas"]["Job"][];
        };
        /** @description By which figures a run was judged. */
        JudgedBy: {
            developer?: components["schemas"]["DeveloperChoice"];
            /** @description The figures of the sheet, each with how far its source goes; none in a record from before they were kept. */
            figures: components["schemas"]["SheetFigure"][];
            /** @description The unconfirmed figures that the verdict hangs on. */
            hangs_on: components["schemas"]["SheetFigure"][];
            house_aims?: components["schemas"]["HouseAim"][];
            /**
             * Format: double
             * @description The push error from which on the film is to be looked at, stops.
             */
            inspect_stops: number | null;
            /**
             * Format: double
             * @description The push error from which on it is out of control, stops.
             */
            out_stops: number | null;
            /**
             * Format: date-time
             * @description When it was checked; null: never.
             * @example 2026-03-01T09:30:00.000Z
             */
            probe_checked_at: string | null;
            /** @description The probe's class by IEC 60751; empty: its kind is not known, B is assumed. */
            probe_class: string;
            /**
             * Format: double
             * @description Added to what the probe said, degrees Celsius.
             */
            probe_offset_c: number;
            /**
             * Format: double
             * @description How far the probe can be off, degrees Celsius.
             */
            probe_within_c: number;
            /** @description The id of the process sheet. */
            sheet: string;
            sheet_name: string;
            /** @description Where its figures come from, each with how far that goes. */
            sources: string[];
        };
        KindRequest: {
            /**
             * @description What it was.
             * @enum {string}
             */
            kind: "film" | "strip" | "flush" | "water" | "prime";
        };
        /** @description What is known of a roll, from the first card, list or entry on. */
        KnownRoll: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            changed_at: string;
            changed_by: string;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            due_at?: string;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            entered_at: string;
            entered_by: string;
            film?: string;
            format?: string;
            note?: string;
            order?: string;
            /** @description The process id, such as c41. */
            process?: string;
            /**
             * Format: double
             * @description Push in stops asked for: + pushed, - pulled.
             */
            push: number | null;
            stop?: string;
            /** @description The roll's twin check, in capitals. */
            twin_check: string;
        };
        /** @description Rolls that are in no proposed run, and why. */
        LeftRolls: {
            /** @description Their twin checks. */
            rolls: string[];
            /** @description The same in words. */
            text: string;
            /**
             * @description stopped: marked STOP. process-not-known: nobody said it. no-unit: no unit that is ready can run it. nothing-left: water, chemistry or room in the waste is used up by then. too-many: more wait than are looked at.
             * @enum {string}
             */
            why: "stopped" | "process-not-known" | "no-unit" | "nothing-left" | "too-many";
        };
        /** @description What people did to a container, as its probe showed it. */
        LevelChange: {
            /** @description A fall by a third or more of which nobody has said yet what it was. Any event of the container answers it. */
            ask: boolean;
            /**
             * Format: date-time
             * @description When it had changed.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /**
             * Format: double
             * @description What it held before, liters.
             */
            from_l: number;
            /**
             * Format: double
             * @description What it held after, liters.
             */
            to_l: number;
            /**
             * @description What it looks like. lowered: it fell, and is not empty.
             * @enum {string}
             */
            what: "emptied" | "topped-up" | "lowered";
            /**
             * Format: double
             * @description Within how many seconds it changed, at most: since the last reading before.
             */
            within_s: number;
        };
        LevelList: {
            points: components["schemas"]["LevelPoint"][];
        };
        /** @description What the containers held at one moment. */
        LevelPoint: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description What each container held, liters. */
            levels_l: {
                [key: string]: number;
            };
        };
        /** @description Whether the tank may be opened. */
        Light: {
            /**
             * Format: date-time
             * @description Since when.
             * @example 2026-03-01T09:30:00.000Z
             */
            since: string | null;
            /**
             * @description dark: film that light would spoil is in the tank. safe: it may be opened. none: no film is wet in it.
             * @enum {string}
             */
            state: "dark" | "safe" | "none";
        };
        /** @description Something that may have moved the last strip. */
        LikelyCause: {
            /** @description What telemetry shows for it; empty where it can show nothing. */
            evidence: string;
            /** @description Telemetry speaks for it. */
            fits: boolean;
            /** @description The figures that it fits. */
            plots: string[];
            /** @description Where it is from. */
            source: string;
            /**
             * @description How far it can be relied on.
             * @enum {string}
             */
            standing: "published" | "quoted elsewhere" | "unconfirmed";
            /** @description The same in words. */
            text: string;
        };
        ListedRoll: {
            /**
             * Format: date-time
             * @description When it is promised.
             */
            due_at?: string;
            /** @description What film it is, at most 64 characters. */
            film?: string;
            /** @description 135, 120 and so on, at most 32 characters. */
            format?: string;
            /** @description What else is to be known, at most 1,000 characters. */
            note?: string;
            /** @description The customer's order, at most 64 characters. */
            order?: string;
            /**
             * @description The process it is for, by its id or name.
             * @example c41
             */
            process?: string;
            /**
             * Format: double
             * @description The push it is for, stops from -6 to 6. Absent: nobody said.
             */
            push?: number;
            /** @description Why it must not be run, at most 200 characters. */
            stop?: string;
            /**
             * @description Its twin check, 1 to 32 digits and letters; capitals or not.
             * @example 48213
             */
            twin_check: string;
        };
        /** @description What the next run of a unit will carry. */
        Load: {
            answers?: components["schemas"]["RollAnswer"][];
            /** @description The process id, such as c41. */
            process: string;
            /**
             * Format: double
             * @description Push in stops asked for: + pushed, - pulled.
             */
            push: number;
            /** @description Rolls of film; empty where nobody scanned them. */
            rolls: components["schemas"]["Roll"][];
        };
        /** @description Whether start may be pressed, and why not. wetside advises; it stops no unit. */
        LoadAnswer: {
            /** @description The id of the entry; empty where nothing was stored. */
            entry: string;
            /** @description What is loaded; null where an empty load was only asked about. */
            load: components["schemas"]["Load"] | null;
            plan: components["schemas"]["LoadPlan"];
            /** @description Those that stop first. */
            reasons: components["schemas"]["LoadReason"][];
            /** @description The unit, lab/unit. */
            unit: string;
            /**
             * @description go: nothing speaks against it. stop: the reasons that stop say what to do first.
             * @enum {string}
             */
            verdict: "go" | "stop";
        };
        /** @description A roll that is loaded now. */
        LoadedRoll: {
            roll: components["schemas"]["Roll"];
            /** @description The unit, lab/unit. */
            unit: string;
        };
        /** @description What the run will need beside what is there. */
        LoadPlan: {
            /** @description What the run needs of each container. */
            containers: components["schemas"]["ContainerNeed"][];
            heater: components["schemas"]["HeaterPlan"];
            /** @description The process id, such as c41. */
            process: string;
            /** @description The unit said that it has this process. */
            process_known: boolean;
            /** @description What people call the process. */
            process_name: string;
            /** @description The unit is busy: the load is for its next run. */
            running: boolean;
        };
        /** @description One thing to know before start is pressed. */
        LoadReason: {
            ask?: components["schemas"]["RollChoice"][];
            /** @description Stop: process-unknown, roll-process, roll-push, waste-room-short, float-closed, wash-water-short, chemistry-short, unit-offline, unit-silent, out-of-service, retired, urgent-alert, strip-gate, chemistry. Tell: no-rolls, no-sheet, level-unknown, heater, unit-running, unit-new, roll-elsewhere, roll-processed, strip-gate, chemistry. */
            code: string;
            /** @description How many steps the run has. */
            of?: string;
            /** @description The twin check of the roll it is about. */
            roll?: string;
            /** @description It makes the verdict stop. */
            stops: boolean;
            /** @description The same in words. */
            text: string;
        };
        LoadRequest: {
            /** @description Answers to questions about rolls, of this load or an earlier one. */
            answers?: components["schemas"]["AnswerRequest"][] | null;
            /**
             * @description The process the unit will be set to.
             * @example c41
             */
            process: string;
            /**
             * Format: double
             * @description The push it will be set to, stops.
             */
            push?: number;
            /** @description What is on the reels. Absent: nobody scanned it. What a roll does not say of itself is taken from what is known of it. */
            rolls?: components["schemas"]["RollRequest"][] | null;
        };
        /** @description What a reason does to film and what can still be done. */
        LookFor: {
            /** @description A short code of the reason. */
            code: string;
            look: string;
            remedy: string;
            source: string;
            standing: string;
            /** @description The step's id, such as developer. */
            step?: string;
        };
        /** @description A level that a person measured, and whether it counts. */
        MeasuredLevel: {
            /**
             * Format: date-time
             * @description When, by the unit's clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /**
             * Format: date-time
             * @description Since when it is not used.
             * @example 2026-03-01T09:30:00.000Z
             */
            ended_at: string | null;
            /**
             * Format: double
             * @description What the person measured, liters.
             */
            litres: number;
            /**
             * Format: double
             * @description What the sensor said at that moment, liters; null: no sensor sent anything.
             */
            sensor_litres: number | null;
            /** @description The level counts on from it: with what the sensor shows to come and go since, else with fills and drains. False: the sensor alone is used again. */
            used: boolean;
            /**
             * @description Why it is not used; empty while it is. sensor-moved: the sensor shows that somebody filled, emptied or moved the container. too-old: a sensor began to send long after.
             * @enum {string}
             */
            why: "" | "sensor-moved" | "too-old";
        };
        MeasuredRequest: {
            /**
             * Format: date-time
             * @description When it was read. Absent: now.
             */
            at?: string;
            /**
             * Format: double
             * @description What a thermometer showed in the bath, degrees Celsius.
             */
            c: number | null;
        };
        MixCorrection: {
            /** @description It is used up or discarded. */
            done?: boolean;
            /** @description The maker's lot number; absent: not noted. */
            lot?: string;
            /**
             * Format: date-time
             * @description When it was mixed; absent: now.
             */
            mixed_at?: string;
            /** @description Who mixed it. */
            mixed_by: string;
            /** @description What people call it. */
            name?: string;
            /** @description What else is to be known. */
            note?: string;
            /** @description What went into it. */
            parts?: components["schemas"]["MixPart"][];
            /**
             * @description What it is: process and step, as units name the bottle.
             * @example c41/developer
             */
            solution: string;
            /**
             * Format: int64
             * @description The version that is corrected.
             */
            version: number;
            /**
             * Format: double
             * @description How much was mixed, liters.
             */
            volume_l: number;
            /** @description Why it is corrected. */
            why: string;
            /** @description Why it must not be used any more; absent: it may be used. */
            withdrawn?: string;
        };
        /** @description How to mix, and what the rolls that wait will take. */
        MixingHelp: {
            /** @description What can be mixed: the chemical steps of the process sheets. */
            solutions: components["schemas"]["SolutionView"][];
            /**
             * Format: int64
             * @description Rolls that wait of which nobody said the process: they are not in it.
             */
            unsaid: number;
            /** @description What the rolls that wait will take, for each solution with a volume a roll-equivalent. */
            waiting: components["schemas"]["MixNeed"][];
        };
        /** @description One thing that goes into a batch. */
        MixingStep: {
            /**
             * Format: double
             * @description How much, milliliters.
             */
            ml: number;
            note?: string;
            part: string;
        };
        /** @description How to mix one batch of one solution. */
        MixingWay: {
            /** @description The kit or the recipe. */
            name: string;
            note?: string;
            solution: string;
            /** @description Where it is from. */
            source: string;
            /** @description How far the source goes: published, or the lab's own. */
            standing: string;
            /** @description What goes in, in this order. */
            steps: components["schemas"]["MixingStep"][];
            /**
             * Format: double
             * @description What it makes, milliliters.
             */
            volume_ml: number;
        };
        /** @description How long a solution may be used, and how much film goes through it. */
        MixLimit: {
            /**
             * Format: double
             * @description How old a mix may be, days; absent: no limit.
             */
            days?: number;
            /**
             * Format: double
             * @description How much a roll-equivalent needs of it in the tank, milliliters; absent: not known.
             */
            ml_per_roll?: number;
            /**
             * Format: double
             * @description How many roll-equivalents may go through a liter; absent: no limit.
             */
            rolls_per_l?: number;
            /** @example c41/developer */
            solution: string;
            /** @description Where the figures are from: the maker's leaflet, the lab's own tests. */
            source?: string;
        };
        /** @description Mixes, those in use first. */
        MixList: {
            /** @description Those in use first, then the newest. */
            mixes: components["schemas"]["MixView"][];
            /** @description The lab uses mixes: one was written, or a limit was set. Until then nothing is asked of them anywhere. */
            used: boolean;
        };
        MixMark: {
            /** @description Why. */
            reason: string;
        };
        /** @description How much of a solution the rolls that wait will take. */
        MixNeed: {
            /**
             * Format: int64
             * @description Rolls whose format is not known: each counts as one.
             */
            assumed: number;
            /**
             * Format: double
             * @description What is in the bottles of units, milliliters; null: not known.
             */
            have_ml: number | null;
            /**
             * Format: double
             * @description What to mix at the least, milliliters; null: not known.
             */
            mix_ml: number | null;
            /**
             * Format: double
             * @description What they take, milliliters; null: the lab has set no mL a roll-equivalent.
             */
            need_ml: number | null;
            /**
             * Format: double
             * @description Roll-equivalents that wait for its process.
             */
            roll_equivalents: number;
            solution: string;
        };
        /** @description One part of a mix. */
        MixPart: {
            /** @description The maker's lot number of this part, where it has one of its own. */
            lot?: string;
            /**
             * Format: double
             * @description How much of it, milliliters.
             */
            ml: number;
            /** @description What the maker calls it. */
            part: string;
        };
        /** @description A position at which a mix stands. */
        MixPlace: {
            /** @description What the unit draws from. */
            position: string;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            since: string;
            /** @description The unit, lab/unit. */
            unit: string;
        };
        MixRequest: {
            /** @description It is used up or discarded. */
            done?: boolean;
            /** @description The maker's lot number; absent: not noted. */
            lot?: string;
            /**
             * Format: date-time
             * @description When it was mixed; absent: now.
             */
            mixed_at?: string;
            /** @description Who mixed it. */
            mixed_by: string;
            /** @description What people call it. */
            name?: string;
            /** @description What else is to be known. */
            note?: string;
            /** @description What went into it. */
            parts?: components["schemas"]["MixPart"][] | null;
            /**
             * @description What it is: process and step, as units name the bottle.
             * @example c41/developer
             */
            solution: string;
            /**
             * Format: double
             * @description How much was mixed, liters.
             */
            volume_l: number;
            /** @description Why it must not be used any more; absent: it may be used. */
            withdrawn?: string;
        };
        /** @description Every roll that met a mix. */
        MixRolls: {
            /** @description The mix. */
            mix: string;
            /** @description Their rolls by customers' orders, the order that is due first before the others; rolls without an order last. */
            orders: components["schemas"]["StripOrder"][];
            /**
             * Format: int64
             * @description How many rolls there are; a roll that went through twice counts once.
             */
            rolls: number;
            /** @description Runs that used it, oldest first. */
            runs: components["schemas"]["MixRun"][];
            /**
             * Format: int64
             * @description Runs with film of which no roll was scanned: whose film met it there is not known.
             */
            unscanned: number;
            /** @description Why it was withdrawn; empty: it is not. */
            withdrawn: string;
        };
        /** @description One run that used a mix. */
        MixRun: {
            decision: components["schemas"]["Decision"] | null;
            /**
             * Format: date-time
             * @description When it ended, by the unit's clock; null while it goes on.
             * @example 2026-03-01T09:30:00.000Z
             */
            ended_at: string | null;
            /** @description The id of the run. */
            id: string;
            /**
             * @description What ran.
             * @enum {string}
             */
            kind: "film" | "strip" | "flush" | "water" | "prime";
            /** @enum {string} */
            outcome: "running" | "done" | "aborted" | "lost";
            /** @description The process id, such as c41. */
            process: string;
            /**
             * Format: double
             * @description Push in stops asked for: + pushed, - pulled.
             */
            push: number;
            /** @description Rolls of film; empty where nobody scanned them. */
            rolls: components["schemas"]["Roll"][];
            /** @description The unit's own name of it. */
            run: string;
            /**
             * Format: date-time
             * @description When it began, by the unit's clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            started_at: string;
            /** @description The steps that drew from it. */
            steps: string[];
            /** @description False: it may have used it; the step was not received, or the bottle was changed while it went on. */
            sure: boolean;
            /** @description The unit, lab/unit. */
            unit: string;
            /** @enum {string|null} */
            verdict: "in-control" | "inspect" | "out-of-control" | null;
        };
        /** @description How a mix stands against its limits. */
        MixState: {
            /**
             * Format: double
             * @description How old it is, days.
             */
            age_days: number;
            /**
             * @description fine: within its limits, or it has none. soon: within a tenth of one. over: beyond one. withdrawn: not to be used. done: used up or discarded.
             * @enum {string}
             */
            is: "fine" | "soon" | "over" | "withdrawn" | "done";
            /** @description It has a limit of age or of film. */
            limited: boolean;
            /** @description What there is to say, in words. */
            why: string[];
        };
        /** @description How the last control strip of a mix stood. */
        MixStrip: {
            /**
             * Format: date-time
             * @description When it was read.
             * @example 2026-03-01T09:30:00.000Z
             */
            read_at: string;
            /**
             * @description in: within the action limits. action: beyond one. out: beyond a control limit. unjudged: there is nothing yet to judge it by.
             * @enum {string}
             */
            standing: "in" | "action" | "out" | "unjudged";
        };
        /** @description How much film went through a mix. */
        MixUse: {
            /**
             * Format: int64
             * @description Rolls whose format is not known: each counts as one.
             */
            assumed: number;
            /**
             * Format: int64
             * @description Runs that may have used it: the step was not received. They are in the count.
             */
            maybe: number;
            /**
             * Format: double
             * @description Roll-equivalents in them: a 220 is 2, four sheets of 4x5 are 1.
             */
            roll_equivalents: number;
            /**
             * Format: int64
             * @description Runs that used it.
             */
            runs: number;
            /**
             * Format: int64
             * @description Runs with film of which no roll was scanned: they are not in the count, so more went through it.
             */
            unscanned: number;
        };
        /** @description One writing of a mix. */
        MixVersion: {
            /**
             * Format: date-time
             * @description When it was so.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who wrote this version. */
            by: string;
            /** @description It is used up or discarded. */
            done?: boolean;
            /**
             * Format: date-time
             * @description When this version was written.
             * @example 2026-03-01T09:30:00.000Z
             */
            entered: string;
            id: string;
            /** @description The maker's lot number; absent: not noted. */
            lot?: string;
            /** @description Who mixed it. */
            mixed_by: string;
            /** @description What people call it. */
            name?: string;
            /** @description What else is to be known. */
            note?: string;
            /** @description What went into it. */
            parts?: components["schemas"]["MixPart"][];
            /**
             * @description What it is: process and step, as units name the bottle.
             * @example c41/developer
             */
            solution: string;
            /**
             * Format: int64
             * @description 1 as it was first written; each correction counts one on.
             */
            version: number;
            /**
             * Format: double
             * @description How much was mixed, liters.
             */
            volume_l: number;
            /** @description Why it was corrected; absent in the first version. */
            why?: string;
            /** @description Why it must not be used any more; absent: it may be used. */
            withdrawn?: string;
        };
        /** @description A mix with where it stands and what went through it. */
        MixView: {
            /** @description Where it stands now. */
            at: components["schemas"]["MixPlace"][];
            /** @description It is used up or discarded. */
            done?: boolean;
            /** @description Every version, the first first. */
            history: components["schemas"]["MixVersion"][];
            /**
             * @description Its label.
             * @example MIX-7QK2F
             */
            id: string;
            /** @description Its limits; with no figure where there are none. */
            limit: components["schemas"]["MixLimit"];
            /** @description the lab's own, or published; empty: no limit. */
            limit_standing: string;
            /** @description The maker's lot number; absent: not noted. */
            lot?: string;
            /**
             * Format: date-time
             * @description When it was mixed.
             * @example 2026-03-01T09:30:00.000Z
             */
            mixed_at: string;
            /** @description Who mixed it. */
            mixed_by: string;
            /** @description What people call it. */
            name?: string;
            /** @description What else is to be known. */
            note?: string;
            /** @description What went into it. */
            parts?: components["schemas"]["MixPart"][];
            /**
             * @description What it is: process and step, as units name the bottle.
             * @example c41/developer
             */
            solution: string;
            /** @description What people call the solution. */
            solution_name: string;
            state: components["schemas"]["MixState"];
            /** @description The last control strip that was read of it; null: none. */
            strip: components["schemas"]["MixStrip"] | null;
            use: components["schemas"]["MixUse"];
            /**
             * Format: int64
             * @description How often it was written: a correction names the version that it corrects.
             */
            version: number;
            /**
             * Format: double
             * @description How much was mixed, liters.
             */
            volume_l: number;
            /** @description Why it must not be used any more; absent: it may be used. */
            withdrawn?: string;
        };
        Narrower: {
            /** @description The same in words. */
            text: string;
            /** Format: double */
            to: number;
        };
        NewPasswordRequest: {
            /** @description 8 to 256 bytes; none of those that everybody uses. */
            password: string;
        };
        /** @description When the escalation goes on. */
        NextPage: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Whom it pages as things stand; empty: nobody can be paged then. */
            people: string[];
            /**
             * Format: int64
             * @description The step of the escalation, from 0.
             */
            step: number;
        };
        NoteRequest: {
            /**
             * Format: date-time
             * @description When it was so. Absent: now.
             */
            at?: string;
            /** @description What was found or done. */
            text: string;
        };
        /** @description Somebody who is on call now or soon, and whether a page would reach them. */
        OnCall: {
            /**
             * Format: date-time
             * @description When they go on call; null: they are on call now.
             * @example 2026-03-01T09:30:00.000Z
             */
            from: string | null;
            name: string;
            /**
             * Format: int64
             * @description The place among those on call then, from 1: who is called first.
             */
            place: number;
            /** @description At least one contact method works, as far as is known. */
            reachable: boolean;
            /** @description Contact methods that can be tried, in order. */
            ways: string[];
            /** @description Why no page reaches them; empty where one does. */
            why: string;
        };
        /** @description Who opened a gate, when and why. */
        Opening: {
            /**
             * Format: date-time
             * @description When.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            /** @description Why. */
            reason: string;
        };
        /** @description One loss of power in a run. */
        Outage: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            act_at?: string;
            /**
             * @description What was advised while it could be followed; null: none, somebody had to look which bath it was.
             * @enum {string|null}
             */
            advice: "continue" | "shorten" | "extend" | "repeat" | "drain" | "discard" | null;
            /**
             * Format: double
             * @description How long the step should still take, seconds.
             */
            advised_remaining_s: number | null;
            ask?: string[];
            assumed?: string[];
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            back_at: string | null;
            estimated?: string[];
            /**
             * @description battery: the controller ran on. restart: it went down.
             * @enum {string}
             */
            kind: "battery" | "restart";
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            lost_at: string | null;
            measured?: string[];
            /**
             * Format: double
             * @description How long it lasted, seconds.
             */
            outage_s: number | null;
            /**
             * Format: double
             * @description The most it may be then, stops.
             */
            push_high_stops?: number;
            /**
             * Format: double
             * @description The least it may be then, stops.
             */
            push_low_stops?: number;
            /**
             * Format: double
             * @description Where the push error will end if the advice is taken, stops.
             */
            push_stops?: number;
            /** @description The step's id, such as developer. */
            step?: string;
            /**
             * Format: double
             * @description How long the film stood still in it, seconds.
             */
            stood_s?: number;
            /** @description The same in words. */
            text: string;
        };
        /** @description What to do with film that stands in a bath in trouble. */
        Outlook: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            act_at: string | null;
            action: string;
            assumed: string[];
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            drain_from: string | null;
            estimated: string[];
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            go_on_until: string | null;
            measured: string[];
            /**
             * Format: double
             * @description What it would be if the film were drained now, stops.
             */
            now_stops: number | null;
            /**
             * Format: double
             * @description The most that it may be, stops.
             */
            push_high_stops: number | null;
            /**
             * Format: double
             * @description The least that it may be, stops.
             */
            push_low_stops: number | null;
            /**
             * Format: double
             * @description Where the push error will end if that is done, stops.
             */
            push_stops: number | null;
            /** @description The step's id, such as developer. */
            step: string;
            /** @description The same in words. */
            text: string;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            too_late_from: string | null;
            /**
             * @description What the trouble is.
             * @enum {string}
             */
            why: "battery" | "silent" | "resumed" | "temperature";
        };
        OwnerRequest: {
            /** @description The person's name. Absent: who asks. */
            owner?: string;
        };
        /** @description One test of one way to one person. */
        PageTest: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            id: string;
            /**
             * @description Where it stands.
             * @enum {string}
             */
            state: "waiting" | "sent" | "dropped" | "held";
            tries: components["schemas"]["Try"][];
            /**
             * @description By what.
             * @enum {string}
             */
            way: "push" | "webhook" | "mail";
        };
        PageTestList: {
            tests: components["schemas"]["PageTest"][];
        };
        PageTestStarted: {
            messages: string[];
        };
        /** @description One page to one person, and what became of it. */
        PageView: {
            /**
             * Format: date-time
             * @description The person works in the dark until then.
             * @example 2026-03-01T09:30:00.000Z
             */
            held_until: string | null;
            /** Format: int64 */
            id: number;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            made_at: string;
            message_id: string;
            /**
             * Format: date-time
             * @description When its link was first opened.
             * @example 2026-03-01T09:30:00.000Z
             */
            opened_at: string | null;
            person: string;
            /**
             * @description That it was paged at.
             * @enum {string}
             */
            priority: "urgent" | "high" | "low";
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            sent_at: string | null;
            /** @description The way by which the other end took it. */
            sent_by: string;
            /**
             * @description Where it stands.
             * @enum {string}
             */
            state: "held" | "waiting" | "sent" | "dropped";
            /**
             * Format: int64
             * @description The step of the escalation, from 0, repeats included.
             */
            step: number;
            tries: components["schemas"]["Try"][];
            why: string;
        };
        PasswordRequest: {
            /** @description The password until now. */
            current: string;
            /** @description The password from now on, 8 to 256 bytes. */
            new: string;
        };
        Person: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            created_at: string;
            name: string;
            /**
             * @description What they may do.
             * @enum {string}
             */
            role: "viewer" | "operator" | "lead";
        };
        /** @description How often one person was called. */
        PersonFigures: {
            /** Format: int64 */
            pages: number;
            /** Format: int64 */
            peak_10_min: number;
            /** Format: double */
            per_hour: number;
            person: string;
            /** Format: int64 */
            worst_hour: number;
        };
        PersonList: {
            users: components["schemas"]["Person"][];
        };
        PersonRequest: {
            /** @description The name to sign in with. */
            name: string;
            /** @description 8 to 256 bytes. */
            password: string;
            /**
             * @description viewer reads, operator also acknowledges and shelves, lead also sets up.
             * @enum {string}
             */
            role: "viewer" | "operator" | "lead";
        };
        /** @description What plans of what to load are compared by. */
        PlanFigures: {
            /**
             * Format: int64
             * @description How often two runs need hands within two minutes.
             */
            collisions: number;
            /**
             * Format: date-time
             * @description When the last film is ready; null where nothing runs.
             * @example 2026-03-01T09:30:00.000Z
             */
            ends_at: string | null;
            /**
             * Format: int64
             * @description Rolls ready after they are promised.
             */
            late: number;
            /**
             * Format: int64
             * @description By how much in all, minutes.
             */
            late_min: number;
            /**
             * Format: int64
             * @description Rolls that could run on a unit that is ready, and find no place.
             */
            left: number;
        };
        /** @description A roll of a proposed run. */
        PlannedRoll: {
            /**
             * Format: date-time
             * @description When it is promised.
             * @example 2026-03-01T09:30:00.000Z
             */
            due_at?: string;
            /**
             * Format: int64
             * @description By how much it would be late, minutes.
             */
            late_min?: number;
            order?: string;
            /** @description The roll's twin check, in capitals. */
            twin_check: string;
        };
        /** @description One step of a run's plan, past or to come. */
        PlanStep: {
            /**
             * Format: double
             * @description Its aim temperature, degrees Celsius.
             */
            aim_c: number | null;
            /**
             * Format: double
             * @description How long it is set, should be or was, seconds.
             */
            aim_s: number;
            /**
             * Format: date-time
             * @description When it ended, by the unit's clock; null while it goes on.
             * @example 2026-03-01T09:30:00.000Z
             */
            ended_at: string | null;
            /**
             * Format: double
             * @description Upper limit, degrees Celsius.
             */
            high_c: number | null;
            /**
             * @description How its time counts; empty where there is no sheet.
             * @enum {string}
             */
            kind: "dev" | "exact" | "min" | "";
            /** @description What people call the step. */
            label: string;
            /**
             * Format: double
             * @description Lower limit, degrees Celsius.
             */
            low_c: number | null;
            /**
             * Format: int64
             * @description The number of the step in its run, from 1.
             */
            n: number;
            /**
             * Format: date-time
             * @description When it began, by the unit's clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            started_at: string | null;
            /**
             * @description Where the run stands with it.
             * @enum {string}
             */
            state: "past" | "now" | "ahead" | "skipped" | "unheard";
            /** @description The step's id, such as developer. */
            step: string;
        };
        /** @description Where the unit's electricity comes from. */
        PowerNow: {
            /**
             * Format: double
             * @description Charge of the battery, percent.
             */
            battery_pct: number | null;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            since: string | null;
            /**
             * @description Where it comes from.
             * @enum {string}
             */
            source: "mains" | "battery" | "unknown";
        };
        /** @description One person's own settings of the pages. */
        Preferences: {
            /**
             * @description Which alerts sound on an open board.
             * @enum {string}
             */
            sound: "on" | "urgent" | "off";
            /** @description Alerts are read aloud too. */
            spoken: boolean;
            /**
             * @description Celsius or Fahrenheit, as shown.
             * @enum {string}
             */
            temperature: "c" | "f";
            /**
             * @description Light or dark.
             * @enum {string}
             */
            theme: "system" | "light" | "dark";
            /**
             * @description Liters or US gallons, as shown.
             * @enum {string}
             */
            volume: "l" | "gal";
        };
        ProbeFigure: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            /**
             * Format: date-time
             * @description When it was entered, by our clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            entered: string;
            id: string;
            /**
             * Format: double
             * @description What is added to the probe's reading, degrees Celsius.
             */
            offset_c: number;
            /** @description The thermometer it was held against. */
            reference?: string;
            /**
             * Format: double
             * @description How far the probe can be off, degrees Celsius; absent: 0.05.
             */
            uncertainty_c?: number;
        };
        ProbeKindFigure: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            class: string;
            /**
             * Format: date-time
             * @description When it was entered, by our clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            entered: string;
            id: string;
            /**
             * Format: double
             * @description How far a probe of that class can be off in a bath of 38 degrees Celsius, never checked.
             */
            within_c: number;
        };
        ProbeKindRequest: {
            /**
             * @description Its tolerance class by IEC 60751, as its data sheet has it; empty: not known, class B is assumed.
             * @enum {string}
             */
            class: "" | "A" | "B";
        };
        ProbeRequest: {
            /**
             * Format: double
             * @description What is added to the probe's reading, degrees Celsius: the reference less the probe.
             */
            offset_c: number;
            /** @description The thermometer it was held against. */
            reference?: string;
            /**
             * Format: double
             * @description How far the probe can be off then, degrees Celsius. Absent: 0.05.
             */
            uncertainty_c?: number;
        };
        /** @description What to load next. */
        Proposal: {
            /**
             * Format: date-time
             * @description When it was worked out; it holds for that minute.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description The proposal is better than first come, first served. It is never worse. */
            better: boolean;
            /** @description What the proposal amounts to. */
            figures: components["schemas"]["PlanFigures"];
            /** @description What first come, first served would amount to: the roll that came first, with as many of its kind as fit, on the unit that is free first, at once. */
            first_come: components["schemas"]["PlanFigures"];
            /** @description Rolls that are in no proposed run, by the reason. */
            left: components["schemas"]["LeftRolls"][];
            /** @description No plan is better by these figures. False: it is the best of those that were looked at. */
            proven: boolean;
            /** @description What is assumed because it is not known. */
            rests_on: components["schemas"]["ProposalRest"][];
            /** @description What to load, by when to start it. A proposal: nothing is started by it. */
            runs: components["schemas"]["ProposedRun"][];
            /** @description Units that are not used, or not for a process that waits, and why. */
            units: components["schemas"]["UnitLeft"][];
            /**
             * Format: int64
             * @description How many rolls wait and are loaded nowhere. 0: there is nothing to propose.
             */
            waiting: number;
        };
        /** @description Something that a proposal assumes because it is not known. */
        ProposalRest: {
            /** @description The same in words. */
            text: string;
            /** @description The unit, lab/unit. */
            unit?: string;
        };
        /** @description One run to load, with a time to start it. */
        ProposedRun: {
            /** @description The film, where the process takes its time from it. */
            film?: string;
            /** @description The unit ran another process last, and this lab flushes in between. */
            flush_first: boolean;
            /**
             * Format: double
             * @description What the unit's reels hold, rolls.
             */
            holds: number;
            /**
             * @description Who says so: the lab's settings, or the fullest run of the unit of the last 60 days.
             * @enum {string}
             */
            holds_by: "settings" | "runs";
            /** @description What people call the unit. */
            name: string;
            /** @description The process to set the unit to. */
            process: string;
            /** @description What people call the process. */
            process_name: string;
            /**
             * Format: double
             * @description The push to set it to, stops; null: nobody said it of these rolls. Look at their cards.
             */
            push: number | null;
            /**
             * Format: date-time
             * @description When the film is dry; where no drying time is known, when it leaves the baths.
             * @example 2026-03-01T09:30:00.000Z
             */
            ready_at: string;
            /** @description Rolls of film; empty where nobody scanned them. */
            rolls: components["schemas"]["PlannedRoll"][];
            /**
             * Format: double
             * @description How much that is, rolls: one of 220 is two, four sheets of 4x5 are one.
             */
            size: number;
            /**
             * Format: date-time
             * @description When to start it.
             * @example 2026-03-01T09:30:00.000Z
             */
            start_at: string;
            /**
             * @description Where its time is from: the sheet with what the unit's own runs took beyond it, or the sheet alone.
             * @enum {string}
             */
            time_by: "unit" | "sheet";
            /**
             * Format: date-time
             * @description When hands are needed at the end of the baths.
             * @example 2026-03-01T09:30:00.000Z
             */
            to_dryer_at: string;
            /** @description The unit, lab/unit. */
            unit: string;
        };
        /** @description What a browser subscribes with. */
        PushKey: {
            available: boolean;
            /** @description applicationServerKey of the Push API. */
            key: string;
            /** @description Why it is not available; empty where it is. */
            why: string;
        };
        /** @description A browser that takes pages. */
        PushSubscription: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            device: string;
            /** Format: int64 */
            id: number;
            person: string;
        };
        /** @description A message that was refused, as it was received. */
        QuarantinedMessage: {
            /** @description What was published, in base64. */
            payload_b64: string;
            /** @description A short code, then what exactly was wrong. */
            reason: string;
            /**
             * Format: date-time
             * @description When it arrived.
             * @example 2026-03-01T09:30:00.000Z
             */
            received_at: string;
            /** @description Where it was published. */
            topic: string;
        };
        QuarantineList: {
            messages: components["schemas"]["QuarantinedMessage"][];
        };
        /** @description Hours that hold back what is not urgent. */
        QuietHours: {
            /** @description Days on which the hours begin: mon to sun. */
            days: string[];
            /** @description Wall clock of the lab, such as 08:00. */
            from: string;
            /** @description Wall clock of the lab, such as 08:00. At or before from: the next day. */
            to: string;
        };
        /** @description Where phones, screens and units find this wetside. */
        Reach: {
            /** @description Addresses at which other machines open the board; empty: none can. */
            board: string[];
            /** @description What to start wetside with so that they can; empty where they can. */
            board_flag: string;
            /** @description Units connect to wetside's own broker. */
            own_broker: boolean;
            /** @description Where units connect, host:port; empty: units on this machine only. */
            units: string[];
            /** @description What to start wetside with so that units elsewhere can connect; empty where they can. */
            units_flag: string;
            /** @description Where a unit on this machine connects; empty with an outside broker. */
            units_here: string;
            /** @description Units speak TLS there. */
            units_tls: boolean;
        };
        Reason: {
            /** @description A short code of the reason. */
            code: string;
            /** @description The step's id, such as developer. */
            step?: string;
            /** @description The same in words. */
            text: string;
        };
        /** @description How the lab mixes a solution. */
        Recipe: {
            /** @description What people call it. */
            name: string;
            /** @description What to mind while mixing. */
            note?: string;
            /** @description In the order in which they go in. */
            parts: components["schemas"]["RecipePart"][];
            /** @example c41/developer */
            solution: string;
            /** @description Where it is from. */
            source?: string;
        };
        /** @description One part of a recipe. */
        RecipePart: {
            /**
             * Format: double
             * @description Milliliters in a liter of the mix.
             */
            ml_per_l: number;
            part: string;
        };
        /** @description A run that could not be decided about. */
        RefusedDecision: {
            error: string;
            /** @description The id of the run. */
            run: string;
        };
        /** @description What the embedded broker did not let in; alike ones together. */
        RefusedEntry: {
            /**
             * Format: int64
             * @description How often; a flood counts once a minute and connection.
             */
            count: number;
            /**
             * Format: date-time
             * @description When it was refused the first time.
             * @example 2026-03-01T09:30:00.000Z
             */
            first_at: string;
            /** @description The address that it came from. */
            from: string;
            /**
             * Format: date-time
             * @description When it was refused the last time.
             * @example 2026-03-01T09:30:00.000Z
             */
            last_at: string;
            /** @description What was wrong. */
            reason: string;
            /** @description connection, publish, or slowed: taken, but no faster than the unit's share. */
            what: string;
        };
        /** @description What was refused from a unit, newest first. */
        RefusedList: {
            /** @description Messages in quarantine. */
            messages: components["schemas"]["RefusedMessage"][];
            /** @description Connections and publishes that were not let in. */
            refused: components["schemas"]["RefusedEntry"][];
        };
        /** @description A message of the unit in quarantine; GET /quarantine has its payload. */
        RefusedMessage: {
            /** @description A short code, then what exactly was wrong. */
            reason: string;
            /**
             * Format: date-time
             * @description When it arrived.
             * @example 2026-03-01T09:30:00.000Z
             */
            received_at: string;
            /** @description Where it was published. */
            topic: string;
        };
        /** @description A row that was not taken, and why. */
        RefusedRow: {
            error: string;
            /** Format: int64 */
            row: number;
            /** @description The roll's twin check, in capitals. */
            twin_check: string;
        };
        /** @description What happened to the film in one run. */
        Report: {
            alerts: components["schemas"]["ReportAlert"][];
            compared: components["schemas"]["Comparison"] | null;
            entries: components["schemas"]["Entry"][];
            judged_by: components["schemas"]["JudgedBy"];
            look_for: components["schemas"]["LookFor"][];
            made_by: string;
            mixes?: components["schemas"]["StepMix"][];
            notes: string[];
            /** @description The id of the run. */
            run: components["schemas"]["Run"];
            seen: components["schemas"]["SeenCauses"][];
            timeline: components["schemas"]["Timeline"];
            unit_name: string;
        };
        /** @description An alert as the report lists it. */
        ReportAlert: {
            id: string;
            message: string;
            /** @enum {string} */
            priority: "urgent" | "high" | "low";
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            raised_at: string;
            rule: string;
            /** @description The step's id, such as developer. */
            step?: string;
        };
        /** @description Densities of one step of a strip; a color that was not read is absent. */
        RGB: {
            /**
             * Format: double
             * @description Blue density.
             */
            b?: number;
            /**
             * Format: double
             * @description Green density; on black-and-white film, the density.
             */
            g?: number;
            /**
             * Format: double
             * @description Red density.
             */
            r?: number;
        };
        RoleRequest: {
            /**
             * @description viewer reads, operator also acknowledges and shelves, lead also sets up.
             * @enum {string}
             */
            role: "viewer" | "operator" | "lead";
        };
        /** @description A roll of film. */
        Roll: {
            decision?: components["schemas"]["Decision"];
            /**
             * Format: date-time
             * @description When it is promised.
             * @example 2026-03-01T09:30:00.000Z
             */
            due_at?: string;
            /** @description What film it is. */
            film?: string;
            /** @description 135, 120 and so on. */
            format?: string;
            /** @description What else is to be known. */
            note?: string;
            /** @description The customer's order. */
            order?: string;
            /** @description The process it is for; missing: that of the load. */
            process?: string;
            /**
             * Format: double
             * @description The push it is for, stops.
             */
            push?: number;
            /**
             * Format: double
             * @description What the roll got against the push it is for itself, stops.
             */
            push_error_stops?: number;
            /** @description The roll's twin check, in capitals. */
            twin_check: string;
        };
        /** @description What a person answered to a question about a roll. */
        RollAnswer: {
            answer: string;
            /** @description A short code of the reason. */
            code: string;
            /** @description How many steps the run has. */
            of?: string;
            roll: string;
        };
        /** @description One answer to a question about a roll. */
        RollChoice: {
            answer: string;
            /** @description The same in words. */
            text: string;
        };
        /** @description What became of a list of rolls, row by row. */
        RollListAnswer: {
            /** Format: int64 */
            changed: number;
            ignored: string[];
            /** Format: int64 */
            new: number;
            refused: components["schemas"]["RefusedRow"][];
            /** Format: int64 */
            same: number;
            taken: components["schemas"]["TakenRow"][];
        };
        RollListRequest: {
            /** @description The rolls. What a row says stands in the place of what was known; what it leaves out stays. */
            rolls: components["schemas"]["ListedRoll"][] | null;
        };
        /** @description Where a roll went. */
        RollPage: {
            known: components["schemas"]["KnownRoll"] | null;
            loaded: components["schemas"]["LoadedRoll"][];
            runs: components["schemas"]["Run"][];
            /** @description The roll's twin check, in capitals. */
            twin_check: string;
        };
        RollRequest: {
            /**
             * Format: date-time
             * @description When it is promised.
             */
            due_at?: string;
            /** @description What film it is. */
            film?: string;
            /** @description 135, 120 and so on. */
            format?: string;
            /** @description What else is to be known. */
            note?: string;
            /** @description The customer's order. */
            order?: string;
            /**
             * @description The process it is for. Missing: whatever is loaded.
             * @example c41
             */
            process?: string;
            /**
             * Format: double
             * @description The push it is for, stops.
             */
            push?: number;
            /**
             * @description Its twin check, 1 to 32 digits and letters; capitals or not.
             * @example 48213
             */
            twin_check: string;
        };
        RollsRequest: {
            /** @description Rolls that are in it too. One that is there is described anew. */
            add?: components["schemas"]["RollRequest"][] | null;
            /** @description Twin checks of rolls that are not in it. */
            remove?: string[] | null;
            /** @description The same as add. */
            rolls?: components["schemas"]["RollRequest"][] | null;
        };
        /** @description One figure that the rules judge by. */
        RuleFigure: {
            /** @description As figures.yaml names it; seconds unless the name says otherwise. */
            figure: string;
            from: string;
            standing: string;
            /** Format: double */
            value: number;
        };
        RuleFigureList: {
            figures: components["schemas"]["RuleFigure"][];
        };
        /** @description How one rule did. */
        RuleFigures: {
            /** Format: int64 */
            alerts: number;
            /** Format: int64 */
            chattering: number;
            /**
             * Format: int64
             * @description Acknowledged within the time to respond.
             */
            in_time: number;
            /**
             * Format: int64
             * @description Acknowledged later than that.
             */
            late: number;
            /**
             * Format: double
             * @description The middle of the times from noticing to acknowledgement, seconds.
             */
            median_ack_s: number | null;
            /**
             * Format: int64
             * @description Over, and never acknowledged.
             */
            never: number;
            /** Format: int64 */
            pages: number;
            rule: string;
            /** Format: int64 */
            withdrawn: number;
        };
        /** @description One batch through a processor, and how it went. */
        Run: {
            /** @description Ids of its alerts. */
            alerts: string[];
            /** @description The id of the run whose film it took on; null where it began with its own. */
            continues: string | null;
            /** @description What a person decided; null while nobody has. */
            decision: components["schemas"]["Decision"] | null;
            /**
             * Format: date-time
             * @description When it ended, by the unit's clock; null while it goes on.
             * @example 2026-03-01T09:30:00.000Z
             */
            ended_at: string | null;
            /** @description Its film with its whole way; null where it carries no customers' film. */
            film: components["schemas"]["Film"] | null;
            gaps: components["schemas"]["Gap"][];
            id: string;
            /**
             * @description What runs: only film carries customers' pictures.
             * @enum {string}
             */
            kind: "film" | "strip" | "flush" | "water" | "prime";
            outages: components["schemas"]["Outage"][];
            /**
             * @description How it ended.
             * @enum {string}
             */
            outcome: "running" | "done" | "aborted" | "lost";
            /** @description The process id, such as c41. */
            process: string;
            /**
             * Format: double
             * @description Push in stops asked for: + pushed, - pulled.
             */
            push: number;
            /**
             * Format: double
             * @description What the errors amount to in the step with push times, stops: + pushed, - pulled.
             */
            push_error_stops: number | null;
            /** @description What the verdict rests on, most likely first. */
            reasons: components["schemas"]["Reason"][];
            /** @description The rolls in it: those loaded and those scanned since. Empty: unknown, nobody scanned them. */
            rolls: components["schemas"]["Roll"][];
            /** @description The run's name by the unit. */
            run: string;
            /** @description Its sealed record; null until it is sealed. */
            seal: components["schemas"]["SealBrief"] | null;
            /**
             * Format: date-time
             * @description When it began, by the unit's clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            started_at: string;
            /** @description The steps. */
            steps: components["schemas"]["RunStep"][];
            /** @description The unit, lab/unit. */
            unit: string;
            /**
             * @description Whether it went as the sheet says; null while it runs.
             * @enum {string|null}
             */
            verdict: "in-control" | "inspect" | "out-of-control" | null;
        };
        RunList: {
            runs: components["schemas"]["Run"][];
        };
        /** @description What was planned and what happened in one step. */
        RunStep: {
            /** @description What it drew from, where the unit said so and it is not the bottle process/step. */
            draw_from?: string;
            /**
             * Format: double
             * @description The time at the sheet's temperature that would have developed as much, seconds.
             */
            equivalent_s: number | null;
            /**
             * Format: int64
             * @description How often it was filled.
             */
            fills: number;
            /**
             * Format: double
             * @description The longest time at one value to the last digit, where that is remarkable, seconds.
             */
            flat_s?: number;
            /**
             * Format: double
             * @description Upper limit, degrees Celsius.
             */
            high_c: number | null;
            /**
             * Format: double
             * @description The lab's own aim that it was judged by, seconds.
             */
            house_aim_s?: number;
            /**
             * Format: double
             * @description Lower limit, degrees Celsius.
             */
            low_c: number | null;
            /**
             * Format: double
             * @description Highest temperature, degrees Celsius.
             */
            max_c: number | null;
            /**
             * Format: double
             * @description Mean temperature, degrees Celsius.
             */
            mean_c: number | null;
            /**
             * Format: double
             * @description What a person's thermometer added to the readings, degrees Celsius.
             */
            measured_offset_c?: number;
            /**
             * Format: double
             * @description Lowest temperature, degrees Celsius.
             */
            min_c: number | null;
            /**
             * Format: int64
             * @description The number of the step in its run, from 1.
             */
            n: number;
            /** @description What would narrow the range of the push error most, and to which part of its width. */
            narrower?: components["schemas"]["Narrower"];
            /**
             * Format: double
             * @description Time outside the limits, seconds.
             */
            outside_s: number | null;
            /**
             * Format: double
             * @description The most it may be, by what is not known, stops.
             */
            push_error_high_stops: number | null;
            /**
             * Format: double
             * @description The least it may be, by what is not known, stops.
             */
            push_error_low_stops: number | null;
            /**
             * Format: double
             * @description The push error against the sheet, where a house aim stands before it, stops.
             */
            push_error_sheet_stops?: number;
            /**
             * Format: double
             * @description What that amounts to against the push asked for, stops.
             */
            push_error_stops: number | null;
            /**
             * Format: double
             * @description The time the unit was set to, seconds.
             */
            set_s: number | null;
            /**
             * Format: double
             * @description The sheet's time, seconds.
             */
            sheet_s: number | null;
            /**
             * Format: date-time
             * @description When it began, by the unit's clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            started_at?: string;
            /** @description The step's id, such as developer. */
            step: string;
            /**
             * Format: double
             * @description The time it took, seconds.
             */
            time_s: number | null;
            /**
             * Format: int64
             * @description How many readings of the bath were not believed.
             */
            unbelieved_n?: number;
            /**
             * Format: double
             * @description For how long readings were not believed in all, single ones not counted, seconds.
             */
            unbelieved_s?: number;
            /** @description Why the last of them was not: range, jump, flat or fahrenheit. */
            unbelieved_why?: string;
        };
        RunVolumes: {
            /**
             * Format: date-time
             * @description When that run ended.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /**
             * @description Whose run showed it: the unit's own last whole run, or the last of another unit of the same model.
             * @enum {string}
             */
            by: "unit" | "model";
            /** @description What the run drains into each container, liters. One that is not named takes nothing. */
            drains_l: {
                [key: string]: number;
            };
            /** @description What the run draws from each container, liters. One that is not named gives nothing. */
            draws_l: {
                [key: string]: number;
            };
            /** @description Process id. */
            process: string;
            /** @description The unit whose run it was. */
            unit: string;
        };
        /** @description Where the sealed record of a run stands. */
        SealBrief: {
            hash: string;
            /** Format: int64 */
            index: number;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            sealed_at: string;
        };
        /** @description A fault on the film, with the causes that fit it and the run, most likely first. */
        SeenCauses: {
            /** @description Every roll shows it. */
            all?: boolean;
            causes: components["schemas"]["Cause"][];
            label: string;
            /** @description Twin checks of the rolls that show it; none, and not all: on which was not said. */
            rolls?: string[];
            seen: string;
        };
        /** @description Who is signed in. */
        Session: {
            /**
             * @description How they are known; null where nobody is signed in.
             * @enum {string|null}
             */
            by: "session" | "token" | null;
            /** @description Who; null where nobody is signed in. */
            name: string | null;
            /**
             * @description What they may do; null where nobody is signed in.
             * @enum {string|null}
             */
            role: "viewer" | "operator" | "lead" | null;
            /** @description Nobody has set a password yet: see POST /setup. */
            setup_needed: boolean;
        };
        /** @description One change of a setting, and who made it. */
        SettingChange: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            key: string;
            value: unknown;
        };
        SetupRequest: {
            /** @description The set-up code that wetside prints where it was started, and in its log. */
            code?: string;
            /** @description The first lead's name. */
            name: string;
            /** @description Their password, 8 to 256 bytes; none of those that everybody uses. */
            password: string;
        };
        /** @description The part of the alerts that one priority had. */
        Share: {
            /** Format: int64 */
            alerts: number;
            /**
             * Format: double
             * @description 0 to 1.
             */
            part: number;
            /** @enum {string} */
            priority: "urgent" | "high" | "low";
            standing: string;
            /**
             * Format: double
             * @description What the guides on alarms give, 0 to 1.
             */
            usual: number;
        };
        /** @description One change of a process sheet. */
        SheetChange: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            /** @description The process id, such as c41. */
            process: string;
            /** @description The same in words. */
            text: string;
        };
        /** @description How many times faster development goes for ten degrees more. */
        SheetFactor: {
            /** Format: double */
            best: number;
            /** Format: double */
            high: number;
            /** Format: double */
            low: number;
        };
        SheetFigure: {
            figure: string;
            /** @description Of limits that the lab widened: that they are its own, what is published, and why. */
            note?: string;
            standing: string;
            /** @description The step's id, such as developer. */
            step: string;
            value: string;
        };
        SheetList: {
            sheets: components["schemas"]["SheetView"][];
        };
        /** @description The time for one push. */
        SheetPush: {
            /**
             * Format: double
             * @description Push in stops asked for: + pushed, - pulled.
             */
            push: number;
            /**
             * Format: double
             * @description The time for this push, seconds; null where it is a factor.
             */
            time_s: number | null;
            /**
             * Format: double
             * @description How many times the normal time.
             */
            times: number | null;
        };
        SheetRequest: {
            /** @description What differs, in the form of a sheet's file (YAML); it stands in place of the lab's change before. Empty: back to the built-in sheet. */
            text: string;
        };
        /** @description Where a figure comes from. */
        SheetSource: {
            figure: string;
            from: string;
            /** @description Written down from memory: to be confirmed from the lab's own manual. */
            memory: boolean;
            /**
             * @description How far the source goes.
             * @enum {string}
             */
            standing: "published" | "quoted elsewhere" | "unconfirmed" | "the lab's own";
        };
        /** @description What one step should be. */
        SheetStep: {
            /**
             * Format: double
             * @description The temperature aimed at, degrees Celsius.
             */
            aim_c: number;
            /** @description What is published is the range of temperatures; the aim is only what units are usually set to. */
            aim_is_usual: boolean;
            /**
             * Format: double
             * @description What the step is usually set to, seconds; null where the unit's own time counts.
             */
            aim_s: number | null;
            figures: components["schemas"]["SheetValue"][];
            /**
             * Format: double
             * @description Upper limit, degrees Celsius.
             */
            high_c: number;
            /**
             * @description dev: time and temperature change the picture; exact: both ways count; min: a least time.
             * @enum {string}
             */
            kind: "dev" | "exact" | "min";
            label: string;
            /**
             * Format: double
             * @description What must not be undercut, seconds.
             */
            least_s: number | null;
            /**
             * Format: double
             * @description Lower limit, degrees Celsius.
             */
            low_c: number;
            /** @description When a figure holds, for whoever sets it. */
            note: string;
            optional: boolean;
            per_10c: components["schemas"]["SheetFactor"] | null;
            /** @description Push in stops asked for: + pushed, - pulled. */
            push: components["schemas"]["SheetPush"][];
            sources: components["schemas"]["SheetSource"][];
            /** @description The step's id, such as developer. */
            step: string;
            time_from_unit: boolean;
            wash: boolean;
        };
        /** @description One figure of a sheet, with how far its source goes. */
        SheetValue: {
            figure: string;
            label: string;
            /**
             * @description How far its source goes.
             * @enum {string}
             */
            standing: "published" | "quoted elsewhere" | "unconfirmed" | "the lab's own";
            /** @description The figure as people write it, in degrees Celsius. */
            value: string;
        };
        /** @description What one process should be. */
        SheetView: {
            /**
             * Format: double
             * @description The hottest that the dryer may be, degrees Celsius; null: no limit.
             */
            dry_max_c: number | null;
            figures: components["schemas"]["SheetValue"][];
            history: components["schemas"]["SheetChange"][];
            id: string;
            /** @description From when on light does no harm, in words. */
            light_safe: string;
            name: string;
            sources: components["schemas"]["SheetSource"][];
            /** @description The steps. */
            steps: components["schemas"]["SheetStep"][];
            /** @description The lab's own change in force, in the form of a sheet's file; empty where there is none. */
            text: string;
            what: string;
        };
        ShelveRequest: {
            /**
             * Format: int64
             * @description For how long, in minutes.
             */
            minutes: number;
            /** @description Why it may wait. */
            reason: string;
        };
        SignInRequest: {
            /** @description The name to sign in with. */
            name: string;
            /** @description The password. */
            password: string;
        };
        /** @description A solution that can be mixed. */
        SolutionView: {
            /** @description What people call it. */
            name: string;
            /** @example c41/developer */
            solution: string;
            /** @description How to mix the volume asked for: published tables and the lab's recipes. Empty: none is known; the maker's leaflet says. */
            ways: components["schemas"]["MixingWay"][];
        };
        /** @description A stretch of time with a word on it. */
        Span: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            from: string;
            label: string;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            to: string;
        };
        StatementRequest: {
            /**
             * Format: date-time
             * @description drained, note: when. Absent: now.
             */
            at?: string;
            /**
             * Format: date-time
             * @description turned-by-hand: from when on.
             */
            from?: string;
            /** @description note: what is to be known. */
            text?: string;
            /**
             * Format: date-time
             * @description turned-by-hand: until when. Absent: to the end of the outage.
             */
            to?: string;
            /**
             * @description turned-by-hand: the tank was turned by hand from, to. drained: the bath was drained by hand, at. note: text.
             * @enum {string}
             */
            what: "turned-by-hand" | "drained" | "note";
        };
        /** @description Which mix a step of a run used. */
        StepMix: {
            /** @description The mix by its label; empty: not known, no bottle was scanned there. */
            mix: string;
            /**
             * Format: int64
             * @description The number of the step in its run, from 1.
             */
            n: number;
            /** @description The bottle that it drew from. */
            position: string;
            /** @description The step's id, such as developer. */
            step: string;
            /** @description False: the step was not received, or the bottle was changed while it went on; it may have been this mix. */
            sure: boolean;
            /** @description The mix in words, with the maker's lot, when it was mixed and by whom. */
            text: string;
        };
        /** @description What a name that the unit gives a step means. */
        StepNameFigure: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            /**
             * Format: date-time
             * @description When it was entered, by our clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            entered: string;
            id: string;
            /** @description The step as the unit names it. */
            name: string;
            /** @description The process in whose runs the name means this. */
            process: string;
            /** @description The step of the sheet; absent: an extra step that the sheet does not have. */
            step?: string;
        };
        StepNameRequest: {
            /**
             * @description The step as the unit names it.
             * @example dev-1
             */
            name: string;
            /**
             * @description The process of the unit's runs in which the name means this.
             * @example c41
             */
            process: string;
            /** @description The id of a run that is judged by it too, besides all that begin from now on. */
            run?: string;
            /**
             * @description The step of the sheet that it means. Absent: it is an extra step that the sheet does not have, and is accepted as that.
             * @example developer
             */
            step?: string;
        };
        /** @description From where to where a unit counts the time in a step. */
        StepTime: {
            /** @description To the end of the last draining, not to its beginning. */
            with_drain: boolean;
            /** @description From the beginning of the first fill, not from its end. */
            with_fill: boolean;
        };
        /** @description How the unit counts the time in a step. */
        StepTimeFigure: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            /**
             * Format: date-time
             * @description When it was entered, by our clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            entered: string;
            id: string;
            /** @description To the end of the last draining, not to its beginning. */
            with_drain: boolean;
            /** @description From the beginning of the first fill, not from its end. */
            with_fill: boolean;
        };
        StopRequest: {
            /** @description Why. Empty: it may be run, the mark comes off. */
            reason: string;
        };
        /** @description An aim and spread that the lab's own strips have set. */
        StripAim: {
            /**
             * Format: double
             * @description The aim, in density.
             */
            aim: number;
            /**
             * Format: date-time
             * @description When it was taken over.
             * @example 2026-03-01T09:30:00.000Z
             */
            at?: string;
            /** @description Who took it over. */
            by?: string;
            /** @description The mix of chemistry; empty where it is not known. */
            mix?: string;
            /** @description The figure's name, such as ld.r: LD red. */
            plot: string;
            /** @description The process id, such as c41. */
            process: string;
            /**
             * Format: double
             * @description The spread of one strip, in density.
             */
            sigma: number;
            /**
             * Format: int64
             * @description How many strips it comes from.
             */
            strips: number;
            /** @description The unit, lab/unit. */
            unit: string;
        };
        /** @description What became of a strip that was read in. */
        StripAnswer: {
            /** @description The gate after it. */
            gate: components["schemas"]["Gate"];
            /** @description What a person should know of how it was judged. */
            notes: string[];
            /** @description The strip as it is saved. */
            strip: components["schemas"]["StripView"];
        };
        /** @description The chart of one unit, process and mix. */
        StripChart: {
            /** @description What may have moved the last strip, what telemetry speaks for first. */
            causes: components["schemas"]["LikelyCause"][];
            /** @description What may have moved them, oldest first. */
            events: components["schemas"]["StripEvent"][];
            /** @description Whether the strip's own run explains it. */
            explanation: components["schemas"]["Explanation"];
            /** @description How often the rules call falsely. */
            false_rate: components["schemas"]["FalseRate"];
            /** @description Densities of a strip in the order in which they are read. */
            fields: components["schemas"]["Field"][];
            /** @description The gate now. */
            gate: components["schemas"]["Gate"];
            /** @description The mix shown; null: all. */
            mix: string | null;
            /** @description Mixes that strips were read of, the last first. */
            mixes: string[];
            /** @description Aims and spreads that the last 20 strips have set, for a lead to take over. */
            offer: components["schemas"]["StripAim"][];
            /** @description A series for each figure. */
            plots: components["schemas"]["StripChartPlot"][];
            /** @description The process id, such as c41. */
            process: string;
            /** @description What people call the process. */
            process_name: string;
            /** @description Where the figures that are plotted and their limits are from. */
            source: string;
            /** @description Steps of a strip in the order in which they are read. */
            steps: string[];
            /** @description Control strips, newest first. */
            strips: components["schemas"]["StripView"][];
            /** @description The unit, lab/unit. */
            unit: string;
        };
        /** @description One figure over time, oldest first. */
        StripChartPlot: {
            /** @description What people call the figure. */
            label: string;
            /** @description The figure's name, such as ld.r: LD red. */
            plot: string;
            /** @description Its points, oldest first. */
            points: components["schemas"]["StripChartPoint"][];
        };
        /** @description One strip's figure, with the signals that it completes. */
        StripChartPoint: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description The figure. */
            figure: components["schemas"]["StripPlot"];
            id: string;
            /** @description The signals that it completes. */
            signals: components["schemas"]["StripSignal"][];
        };
        /** @description Something that may have moved the plots. */
        StripEvent: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description In words. */
            text: string;
            /** @description mix, code, probe, house-aim, developer, note, strip-gate or sheet. */
            what: string;
        };
        /** @description The gate of a unit's chemistry, as the board shows it. */
        StripGate: {
            /**
             * @description in: the last strip was in. watch: film may run, find the cause. stop: no customers' film.
             * @enum {string}
             */
            gate: "in" | "watch" | "stop";
            /**
             * Format: date-time
             * @description When the last strip was read that was in; null: none in three months.
             * @example 2026-03-01T09:30:00.000Z
             */
            last_in_at: string | null;
            /** @description The mix of chemistry; empty where it is not known. */
            mix?: string;
            /** @description What to run now: strip (none was read today) or second-strip (one is beyond a control limit). */
            needs?: string;
            /** @description The process id, such as c41. */
            process: string;
            /**
             * Format: date-time
             * @description When the first of the strips was read that are out now.
             * @example 2026-03-01T09:30:00.000Z
             */
            since?: string;
            /** @description The first reason. */
            text?: string;
        };
        /** @description A lab's own limit of one plot, in place of the published one. */
        StripLimit: {
            /**
             * Format: double
             * @description Action limit, half width in density.
             */
            action: number;
            /**
             * Format: double
             * @description Control limit, half width in density.
             */
            control: number;
            /** @description The figure's name, such as ld.r: LD red. */
            plot: string;
            /** @description The process id, such as c41. */
            process: string;
            /** @description Why it is not the published one. */
            reason: string;
            /**
             * @description On which side of the aim; absent: both.
             * @enum {string}
             */
            side?: "both" | "high" | "low";
            /** @description The unit, lab/unit; absent: all. */
            unit?: string;
        };
        StripList: {
            /** @description Control strips, newest first. */
            strips: components["schemas"]["StripView"][];
        };
        /** @description A customer's order with its rolls among them. */
        StripOrder: {
            /**
             * Format: date-time
             * @description When it is due; null: not known.
             * @example 2026-03-01T09:30:00.000Z
             */
            due_at: string | null;
            /** @description The order; empty: none was given. */
            order: string;
            /** @description Twin checks. */
            rolls: string[];
        };
        /** @description One figure of a strip beside its aim and its limits, in density. */
        StripPlot: {
            /**
             * Format: double
             * @description Action limit, half width; null: none.
             */
            action: number | null;
            /**
             * Format: double
             * @description What it is to be; null: not known.
             */
            aim: number | null;
            /**
             * @description Whose aim: the box's reference strip with its correction factors, the lab's own that a lead took over, or its first strips; absent without an aim.
             * @enum {string}
             */
            aim_from?: "reference" | "own" | "first-strips";
            /**
             * Format: double
             * @description Control limit, half width; null: none.
             */
            control: number | null;
            /**
             * Format: double
             * @description Value less aim; null without an aim.
             */
            deviation: number | null;
            /** @description What people call it. */
            label: string;
            /**
             * @description Whose limits: published, the lab's own, worked out of its first strips (provisional), or none.
             * @enum {string}
             */
            limits: "published" | "own" | "provisional" | "none";
            /** @description The figure's name, such as ld.r: LD red. */
            plot: string;
            /**
             * @description On which side of the aim the limits stand.
             * @enum {string}
             */
            side: "both" | "high" | "low";
            /**
             * @description in: within the action limits. action: beyond an action limit. out: beyond a control limit. unjudged: there is nothing yet to judge it by.
             * @enum {string}
             */
            standing: "in" | "action" | "out" | "unjudged";
            /**
             * Format: double
             * @description Density, or a difference of two.
             */
            value: number;
        };
        /** @description One box of strips. Its aims are the densities of its reference strip and the correction factors, added. */
        StripReference: {
            /** @description Batch number of the box. */
            box?: string;
            /** @description The code number of the box. */
            code: string;
            /** @description Correction factors printed with the box, by step. */
            corrections?: {
                [key: string]: components["schemas"]["RGB"];
            };
            /** @description Densities by step of the strip: dmin, ld, hd, yellow, dmax, speed. */
            densities: {
                [key: string]: components["schemas"]["RGB"];
            };
            /**
             * Format: date-time
             * @description When it was opened.
             * @example 2026-03-01T09:30:00.000Z
             */
            opened_at?: string;
            /** @description The process id, such as c41. */
            process: string;
            /**
             * Format: double
             * @description How cold it is stored, degrees Celsius.
             */
            stored_c?: number;
            /**
             * Format: date-time
             * @description When the last strip of it was used.
             * @example 2026-03-01T09:30:00.000Z
             */
            used_up_at?: string;
        };
        StripRequest: {
            /** @description Who read it. Absent: who is signed in. */
            by?: string;
            /**
             * @description Code number of the box of strips, by which its aims are found.
             * @example 2461
             */
            code?: string;
            /** @description Densities by step of the strip: dmin, ld, hd, yellow, dmax, and speed on black-and-white; r, g and b of each, those that were read. */
            densities: {
                [key: string]: components["schemas"]["RGB"];
            };
            /** @description The mix of chemistry. Absent: not known. */
            mix?: string;
            /** @description What else is to be known. */
            note?: string;
            /**
             * @description The process. Absent: that of the run.
             * @example c41
             */
            process?: string;
            /**
             * Format: date-time
             * @description When it was read. Absent: now.
             */
            read_at?: string;
            /** @description The id of the run that it went through, or the unit's own name of it. Absent: not known. */
            run?: string;
            /**
             * @description The unit whose chemistry it went through, lab/unit.
             * @example tern-street/plover
             */
            unit: string;
        };
        /** @description What the lab's control strips are judged by. */
        StripSettings: {
            /** @description Aims that a lead took over from the lab's own strips. */
            aims?: components["schemas"]["StripAim"][];
            /** @description Processes for which a strip must be read each day before customers' film. */
            asked?: string[];
            /** @description The lab's own limits. */
            limits?: components["schemas"]["StripLimit"][];
            /** @description Boxes of strips, by code number. */
            references?: components["schemas"]["StripReference"][];
        };
        /** @description A mark on the chart. Only control-limit and action-limit move the gate. */
        StripSignal: {
            /** @description What was found. */
            detail: string;
            /** @description What to do. */
            do: string;
            /**
             * @description Which.
             * @enum {string}
             */
            signal: "control-limit" | "action-limit" | "we-1" | "we-2" | "we-3" | "we-4" | "nelson-3" | "ewma" | "cusum";
        };
        /** @description What ran since the last strip that was in. */
        StripSince: {
            /** @description The mix of chemistry; empty where it is not known. */
            mix: string;
            /** @description There are more runs than are listed. */
            more: boolean;
            /** @description Their rolls by customers' orders, the order that is due first before the others; rolls without an order last. */
            orders: components["schemas"]["StripOrder"][];
            /** @description The process id, such as c41. */
            process: string;
            /** @description Runs with customers' film since, oldest first. */
            runs: components["schemas"]["StripSinceRun"][];
            /**
             * Format: date-time
             * @description Since when: the start of the strip's own run where that is known, else its reading; null: no strip was in yet.
             * @example 2026-03-01T09:30:00.000Z
             */
            since: string | null;
            /** @description The last strip that was in; null: none yet. */
            strip: components["schemas"]["StripView"] | null;
            /** @description The unit, lab/unit. */
            unit: string;
        };
        /** @description One run with customers' film. */
        StripSinceRun: {
            decision: components["schemas"]["Decision"] | null;
            /**
             * Format: date-time
             * @description When it ended, by the unit's clock; null while it goes on.
             * @example 2026-03-01T09:30:00.000Z
             */
            ended_at: string | null;
            /** @description The id of the run. */
            id: string;
            /** @enum {string} */
            outcome: "running" | "done" | "aborted" | "lost";
            /**
             * Format: double
             * @description Push in stops asked for: + pushed, - pulled.
             */
            push: number;
            /** @description Rolls of film; empty where nobody scanned them. */
            rolls: components["schemas"]["Roll"][];
            /** @description The unit's own name of it. */
            run: string;
            /**
             * Format: date-time
             * @description When it began, by the unit's clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            started_at: string;
            /** @enum {string|null} */
            verdict: "in-control" | "inspect" | "out-of-control" | null;
        };
        /** @description What became of a table of densities. */
        StripTable: {
            /** @description Columns that were not used. */
            ignored: string[];
            /**
             * Format: int64
             * @description How many were there already.
             */
            known: number;
            /** @description What a person should know of how they were judged, the first 20. */
            notes: string[];
            /**
             * Format: int64
             * @description How many strips were taken in.
             */
            taken: number;
        };
        /** @description A control strip that was read, with what it was judged by then. */
        StripView: {
            /** @description Who read it. */
            by: string;
            /** @description Code number of the box of strips. */
            code: string;
            /** @description Densities by step of the strip: dmin, ld, hd, yellow, dmax, speed. */
            densities: {
                [key: string]: components["schemas"]["RGB"];
            };
            id: string;
            /** @description The mix of chemistry; empty where it is not known. */
            mix: string;
            /** @description What else is to be known. */
            note: string;
            /** @description Its figures as they were judged. */
            plots: components["schemas"]["StripPlot"][];
            /** @description The process id, such as c41. */
            process: string;
            /**
             * Format: date-time
             * @description When it was read.
             * @example 2026-03-01T09:30:00.000Z
             */
            read_at: string;
            /** @description The id of the run that it went through; null where it is not known. */
            run: string | null;
            /**
             * @description in: within the action limits. action: beyond an action limit. out: beyond a control limit. unjudged: there is nothing yet to judge it by.
             * @enum {string}
             */
            standing: "in" | "action" | "out" | "unjudged";
            /** @description The unit, lab/unit. */
            unit: string;
        };
        SubscriptionKeysPart: {
            auth: string;
            p256dh: string;
        };
        SubscriptionRequest: {
            /** @description What people call that phone. */
            device?: string;
            endpoint: string;
            /**
             * Format: double
             * @description Given by browsers; not used.
             */
            expirationTime?: number;
            keys: components["schemas"]["SubscriptionKeysPart"];
        };
        SwapRequest: {
            /**
             * @description The day on which the hours begin, by the lab's clock.
             * @example 2026-03-05
             */
            day: string;
            note?: string;
            /** @description Who is not on call. */
            off: string;
            /** @description Who stands in; empty: nobody. */
            on: string;
        };
        /** @description A fault that film can show. */
        SymptomCode: {
            label: string;
            seen: string;
        };
        SymptomList: {
            symptoms: components["schemas"]["SymptomCode"][];
        };
        SymptomRequest: {
            /** @description Every roll of the run shows it. */
            all_rolls?: boolean;
            /** @description What else the film shows. */
            note?: string;
            /** @description Twin checks of the rolls that show it. */
            rolls?: string[] | null;
            /** @description On which rolls is not known. One of rolls, all_rolls and rolls_unknown is needed where the run has rolls. */
            rolls_unknown?: boolean;
            /** @description One of GET /symptoms. */
            seen: string;
        };
        /** @description Who undid an entry. */
        TakenBack: {
            /**
             * Format: date-time
             * @description When it was undone.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
        };
        /** @description A row that was taken. */
        TakenRow: {
            became: string;
            /** Format: int64 */
            row: number;
            /** @description The roll's twin check, in capitals. */
            twin_check: string;
        };
        /** @description How much liquid covers so many reels in a unit's tank. */
        TankCover: {
            /**
             * Format: double
             * @description Milliliters that cover them.
             */
            ml: number;
            /**
             * Format: int64
             * @description For up to so many reels.
             */
            reels: number;
            /** @description The unit, lab/unit. */
            unit: string;
        };
        /** @description The drawing of a run: planned and happened, by time. */
        Timeline: {
            bath: components["schemas"]["CurvePoint"][];
            by_hand: components["schemas"]["Span"][];
            envelope: components["schemas"]["BandPoint"][];
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            from: string;
            outages: components["schemas"]["Span"][];
            /** @description The steps. */
            steps: components["schemas"]["TimelineStep"][];
            still: components["schemas"]["Span"][];
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            to: string;
            unheard: components["schemas"]["Span"][];
        };
        /** @description One step as planned and as it was. */
        TimelineStep: {
            /**
             * Format: date-time
             * @description When it ended, by the unit's clock; null while it goes on.
             * @example 2026-03-01T09:30:00.000Z
             */
            ended_at: string | null;
            /**
             * Format: double
             * @description Upper limit, degrees Celsius.
             */
            high_c: number | null;
            /**
             * @description How its time counts; empty where there is no sheet.
             * @enum {string}
             */
            kind: "dev" | "exact" | "min" | "";
            label: string;
            /**
             * Format: double
             * @description Lower limit, degrees Celsius.
             */
            low_c: number | null;
            /**
             * Format: int64
             * @description The number of the step in its run, from 1.
             */
            n: number;
            /**
             * Format: double
             * @description How long it was to be, seconds.
             */
            planned_s: number | null;
            /**
             * Format: date-time
             * @description When it began, by the unit's clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            started_at: string | null;
            /** @description The step's id, such as developer. */
            step: string;
        };
        TokenList: {
            tokens: components["schemas"]["TokenView"][];
        };
        TokenRequest: {
            /**
             * Format: int64
             * @description For how many days it holds.
             * @default 365
             */
            days: number;
            /** @description What the token is for. */
            name: string;
            /**
             * @description What it may do.
             * @enum {string}
             */
            role: "viewer" | "operator" | "lead";
        };
        TokenView: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            created_at: string;
            /**
             * Format: date-time
             * @description null: it holds until it is withdrawn.
             * @example 2026-03-01T09:30:00.000Z
             */
            expires_at: string | null;
            /**
             * Format: date-time
             * @description To the minute; null: never.
             * @example 2026-03-01T09:30:00.000Z
             */
            last_used_at: string | null;
            name: string;
            role: string;
            /** @description Only in the answer that made it: it is not kept. */
            token?: string;
        };
        TraceList: {
            points: components["schemas"]["TracePoint"][];
        };
        /** @description Readings taken together; what was not measured is absent. */
        TracePoint: {
            /**
             * Format: date-time
             * @description When, by the unit's clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /**
             * Format: double
             * @description The liquid on the film, degrees Celsius.
             */
            bath_c?: number;
            /**
             * Format: double
             * @description The dryer, degrees Celsius.
             */
            dryer_c?: number;
            /**
             * Format: double
             * @description The next bath in its bottle, degrees Celsius.
             */
            preheat_c?: number;
            /**
             * Format: double
             * @description The room, degrees Celsius.
             */
            room_c?: number;
            /**
             * Format: double
             * @description The water in the wash tank, degrees Celsius.
             */
            wash_c?: number;
        };
        /** @description One try of a message by one way. */
        Try: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            detail: string;
            /**
             * @description How it went.
             * @enum {string}
             */
            outcome: "sent" | "failed" | "gone" | "unavailable";
            /** Format: double */
            took_ms: number;
            /**
             * @description By what.
             * @enum {string}
             */
            way: "push" | "webhook" | "mail";
        };
        /** @description A run with film that nobody has decided about. */
        UndecidedRun: {
            /**
             * Format: double
             * @description How long ago the run ended, seconds.
             */
            age_s: number;
            /** @description Ids of its alerts. */
            alerts: string[];
            /** @description The id of the run whose film it took on; null where it began with its own. */
            continues: string | null;
            /** @description What a person decided; null while nobody has. */
            decision: components["schemas"]["Decision"] | null;
            /**
             * Format: date-time
             * @description When it ended, by the unit's clock; null while it goes on.
             * @example 2026-03-01T09:30:00.000Z
             */
            ended_at: string | null;
            /** @description Its film with its whole way; null where it carries no customers' film. */
            film: components["schemas"]["Film"] | null;
            gaps: components["schemas"]["Gap"][];
            id: string;
            /**
             * @description What runs: only film carries customers' pictures.
             * @enum {string}
             */
            kind: "film" | "strip" | "flush" | "water" | "prime";
            outages: components["schemas"]["Outage"][];
            /**
             * @description How it ended.
             * @enum {string}
             */
            outcome: "running" | "done" | "aborted" | "lost";
            /** @description Who sees to the film until it is decided about; null: nobody. */
            owner: components["schemas"]["FilmOwnerView"] | null;
            /** @description The process id, such as c41. */
            process: string;
            /**
             * Format: double
             * @description Push in stops asked for: + pushed, - pulled.
             */
            push: number;
            /**
             * Format: double
             * @description What the errors amount to in the step with push times, stops: + pushed, - pulled.
             */
            push_error_stops: number | null;
            /** @description What the verdict rests on, most likely first. */
            reasons: components["schemas"]["Reason"][];
            /** @description The rolls in it: those loaded and those scanned since. Empty: unknown, nobody scanned them. */
            rolls: components["schemas"]["Roll"][];
            /** @description The run's name by the unit. */
            run: string;
            /** @description Its sealed record; null until it is sealed. */
            seal: components["schemas"]["SealBrief"] | null;
            /**
             * Format: date-time
             * @description When it began, by the unit's clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            started_at: string;
            /** @description The steps. */
            steps: components["schemas"]["RunStep"][];
            /** @description The unit, lab/unit. */
            unit: string;
            /**
             * @description Whether it went as the sheet says; null while it runs.
             * @enum {string|null}
             */
            verdict: "in-control" | "inspect" | "out-of-control" | null;
        };
        /** @description A processor as it stands now. */
        Unit: {
            /**
             * @description What it does.
             * @enum {string}
             */
            activity: "idle" | "running" | "waiting" | "drying";
            bath: components["schemas"]["Bath"];
            /**
             * Format: double
             * @description How far its clock is behind ours, seconds.
             */
            clock_offset_s: number | null;
            containers: components["schemas"]["Container"][];
            fault?: components["schemas"]["UnitFault"];
            /** @description Film in it that no run goes on with, newest first; absent where there is none. */
            film?: components["schemas"]["FilmLeft"][];
            firmware?: string;
            /** @description Gates of its control strips, by process; those that say something. Absent where none does. */
            gates?: components["schemas"]["StripGate"][];
            /** @description lab/unit. */
            id: string;
            /**
             * Format: date-time
             * @description When the last message arrived, by our clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            last_heard_at: string | null;
            light: components["schemas"]["Light"];
            /**
             * @description Whether data comes from it.
             * @enum {string}
             */
            link: "online" | "silent" | "offline";
            /** @description What the next run carries, or this one. */
            load?: components["schemas"]["Load"];
            model?: string;
            /** @description What people call it. */
            name: string;
            next_load?: components["schemas"]["Load"];
            /** @description Ids of its open alerts, the most pressing first. */
            open_alerts: string[];
            outlook?: components["schemas"]["Outlook"];
            power: components["schemas"]["PowerNow"];
            processes?: string[];
            /**
             * Format: double
             * @description Room temperature, degrees Celsius.
             */
            room_c?: number;
            /**
             * Format: double
             * @description Rotation that agitates the film, revolutions a minute.
             */
            rpm?: number;
            /** @description The run it is in; null when idle. */
            run: components["schemas"]["UnitRun"] | null;
            /** @description What a whole run of a process moves. A process that is not listed: not known. */
            run_volumes?: components["schemas"]["RunVolumes"][];
            /**
             * @description What people decided: new until accepted.
             * @enum {string}
             */
            standing?: "new" | "accepted" | "out-of-service" | "retired";
        };
        /** @description Where one check of a unit stands. */
        UnitCheck: {
            check: string;
            /**
             * Format: int64
             * @description How often it is due, days.
             */
            days: number;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            due_at: string | null;
            from: string;
            how: string;
            /**
             * @description Where it stands.
             * @enum {string}
             */
            is: "never" | "fine" | "due-soon" | "overdue" | "fault";
            label: string;
            last: components["schemas"]["UnitCheckDone"] | null;
            /**
             * Format: int64
             * @description How many runs there were since it was done last, where it is due by runs.
             */
            ran: number;
            /**
             * Format: int64
             * @description After how many runs of the unit it is due, where that comes first; 0: by days alone.
             */
            runs: number;
            standing: string;
        };
        /** @description When a check was last done, and what came of it. */
        UnitCheckDone: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who: the person who was signed in, or the name of the token. */
            by: string;
            id: string;
            note: string;
            ok: boolean;
            /** Format: double */
            value: number | null;
        };
        /** @description A fault of wetside's own by which a unit is not judged, or shown only as it last could be. */
        UnitFault: {
            judged: boolean;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            since: string;
            /** @description The same in words. */
            text: string;
        };
        UnitKeyInfo: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            created_at: string;
            /** @description The unit, lab/unit. */
            unit: string;
        };
        UnitKeyList: {
            keys: components["schemas"]["UnitKeyInfo"][];
        };
        UnitKeyMade: {
            /** @description The password of the unit at the broker; its user is lab/unit. It is not kept. */
            key: string;
            /** @description The unit, lab/unit. */
            unit: string;
        };
        /** @description A unit that a proposal does not use, and why. */
        UnitLeft: {
            /** @description For which process; absent: for none. */
            process?: string;
            /** @description Why, and what to do. */
            text: string;
            /** @description The unit, lab/unit. */
            unit: string;
        };
        UnitList: {
            /**
             * Format: date-time
             * @description Since when nothing is received from any unit, because the broker is away: the units stand as they were last known. Null where telemetry comes in.
             * @example 2026-03-01T09:30:00.000Z
             */
            not_receiving_since: string | null;
            units: components["schemas"]["Unit"][];
        };
        UnitRequest: {
            /** @description What people call the unit. */
            name?: string;
            /**
             * @description accepted: watched and shown. out-of-service: not to be used for now. retired: gone for good.
             * @enum {string}
             */
            standing?: "accepted" | "out-of-service" | "retired";
        };
        /** @description The run a unit is in. */
        UnitRun: {
            /**
             * Format: double
             * @description Time in this step until now, seconds.
             */
            elapsed_s: number | null;
            /**
             * Format: date-time
             * @description When the reels can go to the dryer.
             * @example 2026-03-01T09:30:00.000Z
             */
            ends_at: string | null;
            id: string;
            /**
             * @description What runs: only film carries customers' pictures.
             * @enum {string}
             */
            kind: "film" | "strip" | "flush" | "water" | "prime";
            label?: string;
            /**
             * Format: int64
             * @description The number of the step in its run, from 1.
             */
            n: number;
            /**
             * Format: int64
             * @description How many steps the run has.
             */
            of: number;
            /**
             * @description What the unit is doing.
             * @enum {string}
             */
            phase: "idle" | "heating" | "filling" | "in-bath" | "draining" | "waiting" | "drying" | "done" | "aborted";
            /** @description The steps of the run, past and to come. */
            plan: components["schemas"]["PlanStep"][];
            /** @description The process id, such as c41. */
            process: string;
            /**
             * Format: double
             * @description Push in stops asked for: + pushed, - pulled.
             */
            push: number;
            /**
             * Format: double
             * @description Time until a person is needed next, seconds.
             */
            remaining_s: number | null;
            /** @description Rolls of film; empty where nobody scanned them. */
            rolls?: components["schemas"]["Roll"][];
            /** @description The run's name by the unit. */
            run: string;
            /**
             * Format: double
             * @description The time the unit was set to, seconds.
             */
            set_s: number | null;
            /**
             * Format: date-time
             * @description When it began, by the unit's clock.
             * @example 2026-03-01T09:30:00.000Z
             */
            started_at: string;
            /** @description The step's id, such as developer. */
            step: string;
            /**
             * Format: double
             * @description Time left in this step, seconds.
             */
            step_left_s: number | null;
            /** @description What a waiting unit waits for: to-dryer, empty-waste, top-up-wash or chemistry. */
            waits_for?: string;
        };
        /** @description Units of measure that texts are read in. */
        Units: {
            /**
             * @description Degrees Celsius or Fahrenheit.
             * @enum {string}
             */
            temperature: "c" | "f";
            /**
             * @description Liters or US gallons.
             * @enum {string}
             */
            volume: "l" | "gal";
        };
        /** @description The rolls that wait, those promised first before the others. */
        WaitingList: {
            /** @description Rolls of film; empty where nobody scanned them. */
            rolls: components["schemas"]["WaitingRoll"][];
        };
        /** @description A roll that waits to be processed. */
        WaitingRoll: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            changed_at: string;
            changed_by: string;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            due_at?: string;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            entered_at: string;
            entered_by: string;
            film?: string;
            format?: string;
            loaded: string[];
            note?: string;
            order?: string;
            /** @description The process id, such as c41. */
            process?: string;
            /**
             * Format: double
             * @description Push in stops asked for: + pushed, - pulled.
             */
            push: number | null;
            stop?: string;
            /** @description The roll's twin check, in capitals. */
            twin_check: string;
        };
        /** @description A view-only link for a screen. */
        WallLink: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            created_at: string;
            name: string;
            path?: string;
        };
        WallLinkList: {
            links: components["schemas"]["WallLink"][];
        };
        WallLinkRequest: {
            /** @description Where the screen hangs. */
            name: string;
        };
        WallRequest: {
            /** @description The key of the link. */
            key: string;
        };
        /** @description A published class or limit of waste. */
        WasteClass: {
            name: string;
            /** @description What it says. */
            says: string;
            /** @description Where it is published, and when. */
            source: string;
            /** @description published, quoted elsewhere or unconfirmed. */
            standing: string;
        };
        WasteCorrection: {
            /**
             * Format: date-time
             * @description When it was so; absent: now.
             */
            at?: string;
            /** @description The container that was emptied. */
            container?: string;
            /** @description The label of the container that it was collected in. */
            drum?: string;
            /** @description Who took it away. */
            hauler?: string;
            /** @description Initials of who looked, for a check. */
            initials?: string;
            /**
             * Format: double
             * @description How much, liters; absent: not known.
             */
            litres?: number;
            /**
             * @description estimate: from the container's level at that moment. person: a person said so.
             * @enum {string}
             */
            litres_by?: "estimate" | "person" | "";
            /** @description The number of the manifest. */
            manifest?: string;
            /** @description What else is to be known. */
            note?: string;
            /** @description The check found all in order: closed, labeled, no leak; false: see the note. */
            ok?: boolean;
            /** @description It was a mistake: it stays in the log, crossed out, and counts no more. */
            removed?: boolean;
            /** @description How silver was tested: test paper, or a laboratory. */
            silver_how?: string;
            /**
             * Format: double
             * @description What a silver test showed, mg/L.
             */
            silver_mg_per_liter?: number;
            /**
             * Format: date-time
             * @description When that container began to be filled: its start of accumulation.
             * @example 2026-03-01T09:30:00.000Z
             */
            since?: string;
            /** @description The waste stream: silver-rich, bleach, developer, wash, mixed or other. */
            stream?: string;
            /** @description Where it went: a drum, a recovery unit, a hauler, a drain that local rules allow. */
            to?: string;
            /** @description The unit, lab/unit; absent: of no unit. */
            unit?: string;
            /**
             * Format: int64
             * @description The version that is corrected; 0: nothing was written by hand yet.
             */
            version: number;
            /**
             * @description emptied: a container was emptied, or a drum was taken away. check: the weekly look at what stands there.
             * @enum {string}
             */
            what: "emptied" | "check";
            /** @description Why; required where something was written by hand before. */
            why?: string;
        };
        /** @description Something that the waste log lacks. */
        WasteGap: {
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description The line that lacks something. */
            row?: string;
            /** @description What is missing, in words. */
            text: string;
            /**
             * @description check: no weekly check was written. line: a line lacks something.
             * @enum {string}
             */
            what: "check" | "line";
        };
        /** @description The waste log. */
        WasteLog: {
            /** @description What to mind while emptying. */
            cautions: string[];
            /** @description Published classes and limits, each with its source. */
            classes: components["schemas"]["WasteClass"][];
            /** @description What is missing, oldest first. */
            gaps: components["schemas"]["WasteGap"][];
            /** @description Whose rules decide. */
            local_rules: string;
            /** @description Totals by month and stream, newest first; what was removed is not in them. */
            months: components["schemas"]["WasteMonth"][];
            /** @description Emptyings and checks, newest first. What was undone or removed is in it, crossed out. */
            rows: components["schemas"]["WasteRow"][];
            /**
             * Format: double
             * @description Silver-rich solution emptied a day over the last 30 days, US gallons; null: not known, the log is younger or lacks liters.
             */
            silver_rich_gal_a_day: number | null;
            /** @description Name and address of the lab, as they stand on the log. */
            site?: string;
            /**
             * Format: date-time
             * @description Since when the log is written; null: it is not, and nobody is asked.
             * @example 2026-03-01T09:30:00.000Z
             */
            started_at: string | null;
            /** @description Which stream a container collects, by its name, such as waste or recovery-fixer. */
            streams?: {
                [key: string]: string;
            };
            /** @description Where a container is usually emptied into, by its name. */
            to?: {
                [key: string]: string;
            };
        };
        /** @description What one stream gave in a month. */
        WasteMonth: {
            /**
             * Format: double
             * @description Liters in all, of the emptyings whose liters are known.
             */
            litres: number;
            /**
             * @description The month by the lab's clock.
             * @example 2026-03
             */
            month: string;
            /** @description The waste stream; empty: not said. */
            stream: string;
            /**
             * Format: int64
             * @description How many emptyings.
             */
            times: number;
            /**
             * Format: int64
             * @description How many of them without liters: the total is at least that much.
             */
            unknown: number;
        };
        WasteRequest: {
            /**
             * Format: date-time
             * @description When it was so; absent: now.
             */
            at?: string;
            /** @description The container that was emptied. */
            container?: string;
            /** @description The label of the container that it was collected in. */
            drum?: string;
            /** @description Who took it away. */
            hauler?: string;
            /** @description Initials of who looked, for a check. */
            initials?: string;
            /**
             * Format: double
             * @description How much, liters; absent: not known.
             */
            litres?: number;
            /**
             * @description estimate: from the container's level at that moment. person: a person said so.
             * @enum {string}
             */
            litres_by?: "estimate" | "person" | "";
            /** @description The number of the manifest. */
            manifest?: string;
            /** @description What else is to be known. */
            note?: string;
            /** @description The check found all in order: closed, labeled, no leak; false: see the note. */
            ok?: boolean;
            /** @description It was a mistake: it stays in the log, crossed out, and counts no more. */
            removed?: boolean;
            /** @description How silver was tested: test paper, or a laboratory. */
            silver_how?: string;
            /**
             * Format: double
             * @description What a silver test showed, mg/L.
             */
            silver_mg_per_liter?: number;
            /** @description When that container began to be filled: its start of accumulation. */
            since?: string;
            /** @description The waste stream: silver-rich, bleach, developer, wash, mixed or other. */
            stream?: string;
            /** @description Where it went: a drum, a recovery unit, a hauler, a drain that local rules allow. */
            to?: string;
            /** @description The unit, lab/unit; absent: of no unit. */
            unit?: string;
            /**
             * @description emptied: a container was emptied, or a drum was taken away. check: the weekly look at what stands there.
             * @enum {string}
             */
            what: "emptied" | "check";
        };
        /** @description One line of the waste log as it stands. */
        WasteRow: {
            /**
             * Format: date-time
             * @description When it was so.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who entered it. */
            by: string;
            /** @description The container that was emptied. */
            container?: string;
            /** @description The label of the container that it was collected in. */
            drum?: string;
            /** @description Who took it away. */
            hauler?: string;
            id: string;
            /** @description Initials of who looked, for a check. */
            initials?: string;
            /**
             * Format: double
             * @description How much, liters; absent: not known.
             */
            litres?: number;
            /**
             * @description estimate: from the container's level at that moment. person: a person said so.
             * @enum {string}
             */
            litres_by?: "estimate" | "person" | "";
            /** @description The number of the manifest. */
            manifest?: string;
            /** @description What an inspector would miss, by the names of its fields. */
            missing: string[];
            /** @description What else is to be known. */
            note?: string;
            /** @description The check found all in order: closed, labeled, no leak; false: see the note. */
            ok?: boolean;
            /** @description It was a mistake: it stays in the log, crossed out, and counts no more. */
            removed?: boolean;
            /** @description How silver was tested: test paper, or a laboratory. */
            silver_how?: string;
            /**
             * Format: double
             * @description What a silver test showed, mg/L.
             */
            silver_mg_per_liter?: number;
            /**
             * Format: date-time
             * @description When that container began to be filled: its start of accumulation.
             * @example 2026-03-01T09:30:00.000Z
             */
            since?: string;
            /** @description The waste stream: silver-rich, bleach, developer, wash, mixed or other. */
            stream?: string;
            /** @description Where it went: a drum, a recovery unit, a hauler, a drain that local rules allow. */
            to?: string;
            /** @description The unit, lab/unit; absent: of no unit. */
            unit?: string;
            /**
             * Format: int64
             * @description How often it was written; 0: only the emptying was entered, nothing by hand yet.
             */
            version: number;
            /** @description Every version that was written by hand, the first first. */
            versions: components["schemas"]["WasteVersion"][];
            /**
             * @description emptied: a container was emptied, or a drum was taken away. check: the weekly look at what stands there.
             * @enum {string}
             */
            what: "emptied" | "check";
        };
        /** @description What the waste log is written by. */
        WasteSettings: {
            /** @description Name and address of the lab, as they stand on the log. */
            site?: string;
            /**
             * Format: date-time
             * @description Since when the log is written; null: it is not, and nobody is asked.
             * @example 2026-03-01T09:30:00.000Z
             */
            started_at: string | null;
            /** @description Which stream a container collects, by its name, such as waste or recovery-fixer. */
            streams?: {
                [key: string]: string;
            };
            /** @description Where a container is usually emptied into, by its name. */
            to?: {
                [key: string]: string;
            };
        };
        /** @description One writing of a line. */
        WasteVersion: {
            /**
             * Format: date-time
             * @description When it was so.
             * @example 2026-03-01T09:30:00.000Z
             */
            at: string;
            /** @description Who wrote this version. */
            by: string;
            /** @description The container that was emptied. */
            container?: string;
            /** @description The label of the container that it was collected in. */
            drum?: string;
            /**
             * Format: date-time
             * @description When this version was written.
             * @example 2026-03-01T09:30:00.000Z
             */
            entered: string;
            /** @description Who took it away. */
            hauler?: string;
            id: string;
            /** @description Initials of who looked, for a check. */
            initials?: string;
            /**
             * Format: double
             * @description How much, liters; absent: not known.
             */
            litres?: number;
            /**
             * @description estimate: from the container's level at that moment. person: a person said so.
             * @enum {string}
             */
            litres_by?: "estimate" | "person" | "";
            /** @description The number of the manifest. */
            manifest?: string;
            /** @description What else is to be known. */
            note?: string;
            /** @description The check found all in order: closed, labeled, no leak; false: see the note. */
            ok?: boolean;
            /** @description It was a mistake: it stays in the log, crossed out, and counts no more. */
            removed?: boolean;
            /** @description How silver was tested: test paper, or a laboratory. */
            silver_how?: string;
            /**
             * Format: double
             * @description What a silver test showed, mg/L.
             */
            silver_mg_per_liter?: number;
            /**
             * Format: date-time
             * @description When that container began to be filled: its start of accumulation.
             * @example 2026-03-01T09:30:00.000Z
             */
            since?: string;
            /** @description The waste stream: silver-rich, bleach, developer, wash, mixed or other. */
            stream?: string;
            /** @description Where it went: a drum, a recovery unit, a hauler, a drain that local rules allow. */
            to?: string;
            /** @description The unit, lab/unit; absent: of no unit. */
            unit?: string;
            /**
             * Format: int64
             * @description 1 as it was first written; each correction counts one on.
             */
            version: number;
            /**
             * @description emptied: a container was emptied, or a drum was taken away. check: the weekly look at what stands there.
             * @enum {string}
             */
            what: "emptied" | "check";
            /** @description Why it was corrected; absent in the first version. */
            why?: string;
        };
        /** @description A way to a person that keeps failing. */
        WayFault: {
            detail: string;
            /** Format: int64 */
            failures: number;
            person: string;
            /**
             * Format: date-time
             * @example 2026-03-01T09:30:00.000Z
             */
            since: string;
            /**
             * @description By what.
             * @enum {string}
             */
            way: "push" | "webhook" | "mail";
        };
        /** @description When every contact method of every person is tested. */
        WeeklyTest: {
            at: string;
            day: string;
        };
        WithdrawLinksRequest: {
            /** @description Those about this alert until now. */
            alert?: string;
            /** @description Those sent to this person until now. */
            person?: string;
        };
    };
    responses: never;
    parameters: never;
    requestBodies: never;
    headers: never;
    pathItems: never;
}
export type AcknowledgeRequest = components['schemas']['AcknowledgeRequest'];
export type Alert = components['schemas']['Alert'];
export type AlertDetail = components['schemas']['AlertDetail'];
export type AlertFigures = components['schemas']['AlertFigures'];
export type AlertHistory = components['schemas']['AlertHistory'];
export type AlertList = components['schemas']['AlertList'];
export type AlertPages = components['schemas']['AlertPages'];
export type AnswerRequest = components['schemas']['AnswerRequest'];
export type Available = components['schemas']['Available'];
export type BandPoint = components['schemas']['BandPoint'];
export type Batch = components['schemas']['Batch'];
export type BatchRun = components['schemas']['BatchRun'];
export type Bath = components['schemas']['Bath'];
export type BooksUsed = components['schemas']['BooksUsed'];
export type BottleList = components['schemas']['BottleList'];
export type BottleRequest = components['schemas']['BottleRequest'];
export type BottleView = components['schemas']['BottleView'];
export type CapacityRequest = components['schemas']['CapacityRequest'];
export type Cause = components['schemas']['Cause'];
export type ChangeList = components['schemas']['ChangeList'];
export type CheckList = components['schemas']['CheckList'];
export type CheckRequest = components['schemas']['CheckRequest'];
export type ChemistrySettings = components['schemas']['ChemistrySettings'];
export type ChemistryView = components['schemas']['ChemistryView'];
export type CloseRequest = components['schemas']['CloseRequest'];
export type Comparison = components['schemas']['Comparison'];
export type ContactsRequest = components['schemas']['ContactsRequest'];
export type ContactsView = components['schemas']['ContactsView'];
export type Container = components['schemas']['Container'];
export type ContainerEventList = components['schemas']['ContainerEventList'];
export type ContainerEventRequest = components['schemas']['ContainerEventRequest'];
export type ContainerEventView = components['schemas']['ContainerEventView'];
export type ContainerNeed = components['schemas']['ContainerNeed'];
export type ContinuesRequest = components['schemas']['ContinuesRequest'];
export type CurvePoint = components['schemas']['CurvePoint'];
export type DarkAnswer = components['schemas']['DarkAnswer'];
export type DarkRequest = components['schemas']['DarkRequest'];
export type Decision = components['schemas']['Decision'];
export type DecisionRequest = components['schemas']['DecisionRequest'];
export type DecisionsAnswer = components['schemas']['DecisionsAnswer'];
export type DecisionsRequest = components['schemas']['DecisionsRequest'];
export type DeveloperChoice = components['schemas']['DeveloperChoice'];
export type DeveloperFigure = components['schemas']['DeveloperFigure'];
export type DeveloperList = components['schemas']['DeveloperList'];
export type DeveloperRequest = components['schemas']['DeveloperRequest'];
export type DeveloperSource = components['schemas']['DeveloperSource'];
export type DeveloperTime = components['schemas']['DeveloperTime'];
export type DeveloperView = components['schemas']['DeveloperView'];
export type Doubtful = components['schemas']['Doubtful'];
export type DutyDark = components['schemas']['DutyDark'];
export type DutyEntry = components['schemas']['DutyEntry'];
export type DutyFault = components['schemas']['DutyFault'];
export type DutyFlood = components['schemas']['DutyFlood'];
export type DutyGap = components['schemas']['DutyGap'];
export type DutyHours = components['schemas']['DutyHours'];
export type DutyNow = components['schemas']['DutyNow'];
export type DutyPerson = components['schemas']['DutyPerson'];
export type DutyPlan = components['schemas']['DutyPlan'];
export type DutyRecord = components['schemas']['DutyRecord'];
export type DutyRequest = components['schemas']['DutyRequest'];
export type DutyStatus = components['schemas']['DutyStatus'];
export type DutyStep = components['schemas']['DutyStep'];
export type DutySwap = components['schemas']['DutySwap'];
export type Entry = components['schemas']['Entry'];
export type EntryList = components['schemas']['EntryList'];
export type EntryView = components['schemas']['EntryView'];
export type ErrorDetail = components['schemas']['ErrorDetail'];
export type ErrorModel = components['schemas']['ErrorModel'];
export type Explanation = components['schemas']['Explanation'];
export type FalseRate = components['schemas']['FalseRate'];
export type Field = components['schemas']['Field'];
export type FigureChangeView = components['schemas']['FigureChangeView'];
export type FigureList = components['schemas']['FigureList'];
export type FigureNotice = components['schemas']['FigureNotice'];
export type FigureRequest = components['schemas']['FigureRequest'];
export type FiguresSeen = components['schemas']['FiguresSeen'];
export type FiguresSeenRequest = components['schemas']['FiguresSeenRequest'];
export type Film = components['schemas']['Film'];
export type FilmLeft = components['schemas']['FilmLeft'];
export type FilmOwnerView = components['schemas']['FilmOwnerView'];
export type FilmRequest = components['schemas']['FilmRequest'];
export type FilmRun = components['schemas']['FilmRun'];
export type FilmSaid = components['schemas']['FilmSaid'];
export type Finding = components['schemas']['Finding'];
export type Gap = components['schemas']['Gap'];
export type Gate = components['schemas']['Gate'];
export type GateRequest = components['schemas']['GateRequest'];
export type Gauge = components['schemas']['Gauge'];
export type HandOver = components['schemas']['HandOver'];
export type HeartbeatNow = components['schemas']['HeartbeatNow'];
export type HeaterPlan = components['schemas']['HeaterPlan'];
export type House = components['schemas']['House'];
export type HouseAim = components['schemas']['HouseAim'];
export type HouseAimFigure = components['schemas']['HouseAimFigure'];
export type HouseAimRequest = components['schemas']['HouseAimRequest'];
export type Job = components['schemas']['Job'];
export type JobList = components['schemas']['JobList'];
export type JudgedBy = components['schemas']['JudgedBy'];
export type KindRequest = components['schemas']['KindRequest'];
export type KnownRoll = components['schemas']['KnownRoll'];
export type LeftRolls = components['schemas']['LeftRolls'];
export type LevelChange = components['schemas']['LevelChange'];
export type LevelList = components['schemas']['LevelList'];
export type LevelPoint = components['schemas']['LevelPoint'];
export type Light = components['schemas']['Light'];
export type LikelyCause = components['schemas']['LikelyCause'];
export type ListedRoll = components['schemas']['ListedRoll'];
export type Load = components['schemas']['Load'];
export type LoadAnswer = components['schemas']['LoadAnswer'];
export type LoadedRoll = components['schemas']['LoadedRoll'];
export type LoadPlan = components['schemas']['LoadPlan'];
export type LoadReason = components['schemas']['LoadReason'];
export type LoadRequest = components['schemas']['LoadRequest'];
export type LookFor = components['schemas']['LookFor'];
export type MeasuredLevel = components['schemas']['MeasuredLevel'];
export type MeasuredRequest = components['schemas']['MeasuredRequest'];
export type MixCorrection = components['schemas']['MixCorrection'];
export type MixingHelp = components['schemas']['MixingHelp'];
export type MixingStep = components['schemas']['MixingStep'];
export type MixingWay = components['schemas']['MixingWay'];
export type MixLimit = components['schemas']['MixLimit'];
export type MixList = components['schemas']['MixList'];
export type MixMark = components['schemas']['MixMark'];
export type MixNeed = components['schemas']['MixNeed'];
export type MixPart = components['schemas']['MixPart'];
export type MixPlace = components['schemas']['MixPlace'];
export type MixRequest = components['schemas']['MixRequest'];
export type MixRolls = components['schemas']['MixRolls'];
export type MixRun = components['schemas']['MixRun'];
export type MixState = components['schemas']['MixState'];
export type MixStrip = components['schemas']['MixStrip'];
export type MixUse = components['schemas']['MixUse'];
export type MixVersion = components['schemas']['MixVersion'];
export type MixView = components['schemas']['MixView'];
export type Narrower = components['schemas']['Narrower'];
export type NewPasswordRequest = components['schemas']['NewPasswordRequest'];
export type NextPage = components['schemas']['NextPage'];
export type NoteRequest = components['schemas']['NoteRequest'];
export type OnCall = components['schemas']['OnCall'];
export type Opening = components['schemas']['Opening'];
export type Outage = components['schemas']['Outage'];
export type Outlook = components['schemas']['Outlook'];
export type OwnerRequest = components['schemas']['OwnerRequest'];
export type PageTest = components['schemas']['PageTest'];
export type PageTestList = components['schemas']['PageTestList'];
export type PageTestStarted = components['schemas']['PageTestStarted'];
export type PageView = components['schemas']['PageView'];
export type PasswordRequest = components['schemas']['PasswordRequest'];
export type Person = components['schemas']['Person'];
export type PersonFigures = components['schemas']['PersonFigures'];
export type PersonList = components['schemas']['PersonList'];
export type PersonRequest = components['schemas']['PersonRequest'];
export type PlanFigures = components['schemas']['PlanFigures'];
export type PlannedRoll = components['schemas']['PlannedRoll'];
export type PlanStep = components['schemas']['PlanStep'];
export type PowerNow = components['schemas']['PowerNow'];
export type Preferences = components['schemas']['Preferences'];
export type ProbeFigure = components['schemas']['ProbeFigure'];
export type ProbeKindFigure = components['schemas']['ProbeKindFigure'];
export type ProbeKindRequest = components['schemas']['ProbeKindRequest'];
export type ProbeRequest = components['schemas']['ProbeRequest'];
export type Proposal = components['schemas']['Proposal'];
export type ProposalRest = components['schemas']['ProposalRest'];
export type ProposedRun = components['schemas']['ProposedRun'];
export type PushKey = components['schemas']['PushKey'];
export type PushSubscription = components['schemas']['PushSubscription'];
export type QuarantinedMessage = components['schemas']['QuarantinedMessage'];
export type QuarantineList = components['schemas']['QuarantineList'];
export type QuietHours = components['schemas']['QuietHours'];
export type Reach = components['schemas']['Reach'];
export type Reason = components['schemas']['Reason'];
export type Recipe = components['schemas']['Recipe'];
export type RecipePart = components['schemas']['RecipePart'];
export type RefusedDecision = components['schemas']['RefusedDecision'];
export type RefusedEntry = components['schemas']['RefusedEntry'];
export type RefusedList = components['schemas']['RefusedList'];
export type RefusedMessage = components['schemas']['RefusedMessage'];
export type RefusedRow = components['schemas']['RefusedRow'];
export type Report = components['schemas']['Report'];
export type ReportAlert = components['schemas']['ReportAlert'];
export type RGB = components['schemas']['RGB'];
export type RoleRequest = components['schemas']['RoleRequest'];
export type Roll = components['schemas']['Roll'];
export type RollAnswer = components['schemas']['RollAnswer'];
export type RollChoice = components['schemas']['RollChoice'];
export type RollListAnswer = components['schemas']['RollListAnswer'];
export type RollListRequest = components['schemas']['RollListRequest'];
export type RollPage = components['schemas']['RollPage'];
export type RollRequest = components['schemas']['RollRequest'];
export type RollsRequest = components['schemas']['RollsRequest'];
export type RuleFigure = components['schemas']['RuleFigure'];
export type RuleFigureList = components['schemas']['RuleFigureList'];
export type RuleFigures = components['schemas']['RuleFigures'];
export type Run = components['schemas']['Run'];
export type RunList = components['schemas']['RunList'];
export type RunStep = components['schemas']['RunStep'];
export type RunVolumes = components['schemas']['RunVolumes'];
export type SealBrief = components['schemas']['SealBrief'];
export type SeenCauses = components['schemas']['SeenCauses'];
export type Session = components['schemas']['Session'];
export type SettingChange = components['schemas']['SettingChange'];
export type SetupRequest = components['schemas']['SetupRequest'];
export type Share = components['schemas']['Share'];
export type SheetChange = components['schemas']['SheetChange'];
export type SheetFactor = components['schemas']['SheetFactor'];
export type SheetFigure = components['schemas']['SheetFigure'];
export type SheetList = components['schemas']['SheetList'];
export type SheetPush = components['schemas']['SheetPush'];
export type SheetRequest = components['schemas']['SheetRequest'];
export type SheetSource = components['schemas']['SheetSource'];
export type SheetStep = components['schemas']['SheetStep'];
export type SheetValue = components['schemas']['SheetValue'];
export type SheetView = components['schemas']['SheetView'];
export type ShelveRequest = components['schemas']['ShelveRequest'];
export type SignInRequest = components['schemas']['SignInRequest'];
export type SolutionView = components['schemas']['SolutionView'];
export type Span = components['schemas']['Span'];
export type StatementRequest = components['schemas']['StatementRequest'];
export type StepMix = components['schemas']['StepMix'];
export type StepNameFigure = components['schemas']['StepNameFigure'];
export type StepNameRequest = components['schemas']['StepNameRequest'];
export type StepTime = components['schemas']['StepTime'];
export type StepTimeFigure = components['schemas']['StepTimeFigure'];
export type StopRequest = components['schemas']['StopRequest'];
export type StripAim = components['schemas']['StripAim'];
export type StripAnswer = components['schemas']['StripAnswer'];
export type StripChart = components['schemas']['StripChart'];
export type StripChartPlot = components['schemas']['StripChartPlot'];
export type StripChartPoint = components['schemas']['StripChartPoint'];
export type StripEvent = components['schemas']['StripEvent'];
export type StripGate = components['schemas']['StripGate'];
export type StripLimit = components['schemas']['StripLimit'];
export type StripList = components['schemas']['StripList'];
export type StripOrder = components['schemas']['StripOrder'];
export type StripPlot = components['schemas']['StripPlot'];
export type StripReference = components['schemas']['StripReference'];
export type StripRequest = components['schemas']['StripRequest'];
export type StripSettings = components['schemas']['StripSettings'];
export type StripSignal = components['schemas']['StripSignal'];
export type StripSince = components['schemas']['StripSince'];
export type StripSinceRun = components['schemas']['StripSinceRun'];
export type StripTable = components['schemas']['StripTable'];
export type StripView = components['schemas']['StripView'];
export type SubscriptionKeysPart = components['schemas']['SubscriptionKeysPart'];
export type SubscriptionRequest = components['schemas']['SubscriptionRequest'];
export type SwapRequest = components['schemas']['SwapRequest'];
export type SymptomCode = components['schemas']['SymptomCode'];
export type SymptomList = components['schemas']['SymptomList'];
export type SymptomRequest = components['schemas']['SymptomRequest'];
export type TakenBack = components['schemas']['TakenBack'];
export type TakenRow = components['schemas']['TakenRow'];
export type TankCover = components['schemas']['TankCover'];
export type Timeline = components['schemas']['Timeline'];
export type TimelineStep = components['schemas']['TimelineStep'];
export type TokenList = components['schemas']['TokenList'];
export type TokenRequest = components['schemas']['TokenRequest'];
export type TokenView = components['schemas']['TokenView'];
export type TraceList = components['schemas']['TraceList'];
export type TracePoint = components['schemas']['TracePoint'];
export type Try = components['schemas']['Try'];
export type UndecidedRun = components['schemas']['UndecidedRun'];
export type Unit = components['schemas']['Unit'];
export type UnitCheck = components['schemas']['UnitCheck'];
export type UnitCheckDone = components['schemas']['UnitCheckDone'];
export type UnitFault = components['schemas']['UnitFault'];
export type UnitKeyInfo = components['schemas']['UnitKeyInfo'];
export type UnitKeyList = components['schemas']['UnitKeyList'];
export type UnitKeyMade = components['schemas']['UnitKeyMade'];
export type UnitLeft = components['schemas']['UnitLeft'];
export type UnitList = components['schemas']['UnitList'];
export type UnitRequest = components['schemas']['UnitRequest'];
export type UnitRun = components['schemas']['UnitRun'];
export type Units = components['schemas']['Units'];
export type WaitingList = components['schemas']['WaitingList'];
export type WaitingRoll = components['schemas']['WaitingRoll'];
export type WallLink = components['schemas']['WallLink'];
export type WallLinkList = components['schemas']['WallLinkList'];
export type WallLinkRequest = components['schemas']['WallLinkRequest'];
export type WallRequest = components['schemas']['WallRequest'];
export type WasteClass = components['schemas']['WasteClass'];
export type WasteCorrection = components['schemas']['WasteCorrection'];
export type WasteGap = components['schemas']['WasteGap'];
export type WasteLog = components['schemas']['WasteLog'];
export type WasteMonth = components['schemas']['WasteMonth'];
export type WasteRequest = components['schemas']['WasteRequest'];
export type WasteRow = components['schemas']['WasteRow'];
export type WasteSettings = components['schemas']['WasteSettings'];
export type WasteVersion = components['schemas']['WasteVersion'];
export type WayFault = components['schemas']['WayFault'];
export type WeeklyTest = components['schemas']['WeeklyTest'];
export type WithdrawLinksRequest = components['schemas']['WithdrawLinksRequest'];
export type $defs = Record<string, never>;
export type operations = Record<string, never>;
