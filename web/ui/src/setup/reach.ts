/** Where phones, screens and units find this wetside, and which flag it wants where they cannot (internal/lab/reach.go). */
export interface Reach {
  board: string[] | null;
  board_flag: string;
  own_broker: boolean;
  units: string[] | null;
  units_here: string;
  units_tls: boolean;
  units_flag: string;
}
