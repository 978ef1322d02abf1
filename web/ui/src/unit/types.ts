// A unit's care and figures, by the names that the pages have for what the API sends.
export type { DeveloperView as Developer, EntryView as Entry, FigureList as Figures, UnitCheck as Check } from "../types";
