// Duty, by the names that the pages have for what the API sends.
export type {
  ContactsView as Contacts,
  DutyEntry as LogEntry,
  DutyHours as Hours,
  DutyNow,
  DutyPerson,
  DutyPlan as Plan,
  DutySwap as Swap,
  PageTest,
  QuietHours as Quiet,
} from "../types";
