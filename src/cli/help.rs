//! Long texts of the help, broken by hand to fit 100 columns.

/// Name of the program.
pub(super) const NAME: &str = "endgas";

/// What the program is.
pub(super) const ABOUT: &str = "\
Honest wheel power and knock margin of a naturally aspirated engine, per compression ratio and fuel";

/// What `endgas estimate` does.
pub(super) const ESTIMATE: &str = "\
Estimate power, timing and knock margin of one build on its fuels: at the timing to start from,
knock-free in 9 cases of 10, and at the likely limit beside it.

The engine is a scenario file (TOML; - is standard input), or a few options: cylinders, bore and
stroke or displacement, ratio, kind of build, rpm of peak power or torque, and a fuel. What you do
not state is taken as usual, widens the range and is listed. Without both, the built-in example
runs. Its build is invented, like all examples.

The text is one screen: the answer, what matters most and the two strongest cautions. --show adds
parts, with --show all every caution; JSON and CSV always hold everything.

With two to four scenario files the builds stand side by side: each against the first, case by
case, so that what is uncertain in both cancels in the difference.";

/// More scenario files of `endgas estimate`.
pub(super) const MORE_SCENARIOS: &str = "\
More scenario files: two to four builds side by side, each against the first

All builds run on the fuels of --fuel or else of the first file, and in the weather of
the first file with the weather options put in, so that the builds alone differ. One of
the files may be -.";

/// What `endgas choose` does.
pub(super) const CHOOSE: &str = "\
Say which compression ratio to order: the lowest whose wheel power a chassis dyno cannot tell from
the most that is within the limits.

The pistons are ordered once, the fuel changes from fill to fill. The ratio has to live on every
blend of a range of ethanol content on a hot day, with deposits, on a weak tank. The ignition as
fitted (knock control, a map per fuel, one map) decides the timing. Section [choose] of the scenario
states all of it; circuit-2400.toml shows every key. The text is one screen, --show adds parts.";

/// Terms of `endgas choose`.
pub(super) const CHOOSE_TERMS: &str = "\
Terms:
  weighted power      wheel power (peak, or mean over a band of rpm) of each fuel, by weight times
                      likelihood; its mean over the samples of the uncertain inputs
  order               lowest ratio within the limits whose weighted power is less than 0.5 % (unless
                      stated) below the most there, to the next tenth
  as fitted           at the timing that the ignition runs: each tank's knock limit with knock
                      control, else the timing to start from, of each fuel or of the weakest
  worst tank          the ethanol content of the range, and the rpm, nearest to a limit under the
                      service conditions
  retard, torque lost against MBT timing, judged at peak torque and above; limited as nine of ten
                      production engines have it unless stated
  power lost          by choosing for one fuel and running another: against the order for that one

Exit status:
  0  done
  1  done, but no ratio is within the limits, or all the pistons named are over
  2  bad input, or a file that cannot be read or written; nothing is written

Caution:
  An estimate is no measurement: breathing, burn speed and friction are held the same at every
  ratio. Measure volumes and valve clearance; start retarded and add timing, listening for knock.";

/// What `endgas spark` does.
pub(super) const SPARK: &str = "\
Timing tables on the breakpoints of your control unit: the timing to start from, knock-free in 9
cases of 10, and the likely limit beside it: the lesser of MBT timing and the likely knock limit
less a safety margin. Rows are load, columns rpm; one table per fuel and ethanol content. CSV is the
same grid to paste: rpm along the first row, the load before each row.
For the start each uncertain input runs by itself in every cell: within about 1 deg of
`endgas estimate` at full load.

Never a calibration: start from the timing to start from or less, with knock detection.
Exit status 1: some cell has no timing in the range of the scenario that keeps the safety margin.";

/// Help of `--rpm`.
pub(super) const RPM: &str = "\
Breakpoints of rpm, rising, 500 to 15000, at most 32: \"800,1200,2000\", or \"1000..7000 step 500\"
(500 without a step; \"1000-7000\" and \"1000 to 7000\" read the same). Default: those of the scenario";

/// Help of `--load`.
pub(super) const LOAD: &str = "\
Breakpoints of load, rising, at most 32, as a list or a range with the unit of your control unit:
  \"40,60,80,100 kPa\"  absolute manifold pressure; also psi, inHg, bar, hPa, mbar
  \"20..100 step 10 %\" share of the air that the cylinder takes at full load at the same rpm
  \"0.2,0.4,0.6 g\"     air in one cylinder and cycle; also mg
The tables keep that unit. Loads that the engine cannot reach hold its full-load timing, and the
lowest is 20 % of full-load air. Default: \"60..100 %\"";

/// Help of `--ethanol`.
pub(super) const ETHANOL: &str = "\
Ethanol contents, % by volume, rising, at most 12, one table for each: \"10,30,50,85\" or
\"0..80 step 20\". They are made with the gasoline of each fuel. With a single load one table
holds them all, a row each. Default: each fuel as sold";

/// What `endgas dyno` does.
pub(super) const DYNO: &str = "\
Judge a log of full-load dyno pulls by the estimate of a scenario: one list of checks, each with its
verdict (consistent, doubtful, not credible), its number, its limits and where they come from. The
text is one screen; --show checks lists all of them.

The log is CSV text (comma, semicolon or tab) or an .xlsx workbook; comments begin with #, or with ;
where that is no delimiter. Headings carry units, as \"torque (lb-ft)\", or stand over a row of
units. Pulls are told apart by a pull or run column, by columns side by side, by a blank line before
a lower rpm, or by rpm falling back by a quarter. Comments \"# at: crank\" and
\"# corrected: iso-1585\" state what the options also can.";

/// Notes on `endgas dyno`.
pub(super) const DYNO_NOTES: &str = "\
Columns:
  speed (rpm); road-speed (km/h, mph, m/s); torque (N m, lb-ft, kgf m); power (kW, W, hp, PS);
  lambda; afr; air-temp (C, F, K);
  pressure (kPa, hPa, mbar, bar, inHg, mmHg, psi, Pa); humidity (%); fuel-flow (kg/h, g/s, kg/s,
  lb/h); factor (correction factor); timing (deg before top dead centre); knock (a count, or
  knock retard in deg); pull. Any other column is listed as not used.
  Torque is referred to engine rpm, whether taken at the wheels or at the flywheel.

Ends:
  Idle, roll-on, rev limiter, lift-off and coast-down are left out and reported by line;
  --keep-ends leaves them in. A log of a few points is taken as it is.

Knock:
  A log with a column of timing and one of knock also shows which timings knocked and which stayed
  quiet, at up to five rpm and wherever knock set in, with [[knock.known]] tables to paste into the
  scenario. 0 is quiet. A count that never falls is a running count: it knocks where that rises.

Weather:
  Options win over weather columns of the log, which win over the scenario. Corrected figures are
  corrected back to observed by the factor of their standard, then corrected to --standard.

Examples:
  endgas dyno scenarios/street-2000.toml scenarios/pulls/street-2000-pull-good.csv
  endgas dyno my-build.toml pull.csv --at wheel --corrected sae-j1349 --plot plots
  endgas dyno my-build.toml pull.csv --column \"torque=TQ1 in lb-ft\" --column \"ignore=TQ2\"
  endgas dyno my-build.toml rollers.csv --at-speed \"100 km/h = 4000 rpm\"
  endgas dyno my-build.toml pull.csv --fit fitted.toml

Fit:
  --fit moves VE (volumetric efficiency) over rpm, driveline loss and burn speed until the build
  makes the pull, each held to its range, and writes a new scenario with the ranges that are left.
  The report says what the pull cannot tell apart: of VE and loss it measures only the product.

Exit status:
  0  done; every check is consistent or doubtful
  1  done, but a check is not credible; then nothing is fitted without --fit-anyway
  2  bad input, or a file that cannot be read or written; nothing is written, except that the
     report may be out when --fit, whose file is written last, cannot be written

Caution:
  An estimate judges a pull, it does not prove it, and it is no calibration: listen for knock and
  pull timing; never cure knock with a leaner mixture.";

/// Help of `--column`.
pub(super) const COLUMN: &str = "\
What a column is, with its unit: \"torque=TQ1 in lb-ft\", by number \"speed=#2 in rpm\", or
\"ignore=TQ raw\". Without \"in UNIT\" the unit of the heading counts. Repeatable. Other
columns that look like a quantity mapped so are not used";

/// Help of `--corrected`.
pub(super) const CORRECTED: &str = "\
Standard by which the figures of the log are corrected: sae-j1349, sae-j1349-1990,
iso-1585, din-70020, sae-j607; or none. Wins over a comment of the log";
/// What `endgas goal` does.
pub(super) const GOAL: &str = "\
Judge a target wheel power: yes or no on each fuel, the cheapest parts that reach it and what they
take (knock margin, pressure, piston speed, low-rpm torque, idle), and the crank power, BMEP, VE, air
and fuel you need at each rpm. The answer is one screen, the rest comes by --show.

The first fuel of the list is the one judged; another fuel of the list counts as a change.
Verdict, the same in every place:
  already reached     90 % of engines as built reach it, or more
  likely              the likely case (the median) as built reaches it
  needs top-end work  cam and springs, head or valves, intake and exhaust, or some of them
  needs a full build  a higher ratio, with or without top-end work
  needs a race build  rods, valve gear and bearings for more rpm, or a race top end
  doubtful            a race build reaches it in 10 % of cases or more
  not credible        in fewer
Parts go in the order of what they cost: [costs] of the scenario, or usual ratios.

Exit status 1: the likely case of the engine as built does not reach the target.";

/// What `endgas breathing` does.
pub(super) const BREATHING: &str = "\
What cam, ports and pipes make of the VE, for a scenario whose VE is computed from them:
[breathing.pipes] beside `kind` in [breathing], which may be empty. Gas dynamics of one cylinder,
which stands for all, between its runner and its primary.

By rpm: VE with its range, residual gas, pumping, fresh gas lost by short circuit, temperature at
inlet closing. `--show worth` runs every step that a shop would make of runner, primary, cam, lift,
valve, plenum and back pressure. `--show parts` takes runner and primary away. The plots show
pressure and flow at the valves over crank angle at peak power, and VE with its parts.

VE is that on the reference day and gasoline; torque and power are of the estimate on the first fuel.";

/// What `endgas fueling` does.
pub(super) const FUELING: &str = "\
Air and fuel flow at each rpm on every fuel, at its likely ethanol content and at the high end of
its range; the injectors and the pump that you need for the high end; and piston speed, piston
acceleration and cylinder pressure beside the bands of production, sport and race engines.

High: the 90th percentile over samples of VE and mixture. Injector flow goes with the root of the
pressure across them (rail over manifold) and of the density (Bernoulli). The section [fueling] of
the scenario may state injectors and pump; without it usual values are used and shown.
Not included: dead time and the nonlinear range of injectors, cold start, pump curves.

Exit status 1: stated injectors or pump are not enough, or the engine is over a stated mechanical\nlimit.";
/// What `endgas report` does.
pub(super) const REPORT: &str = "\
Write one HTML page on a build for the customer and the builder: the answer first, then torque and
power, compression ratio, timing and knock, uncertainty, cautions, assumptions and sources.

The page holds everything it needs, runs no script and prints on A4 and Letter. Its compression
ratio is chosen as `endgas choose` does, by section [choose] of the scenario.";

/// Exit statuses and caution of `endgas report`.
pub(super) const REPORT_TERMS: &str = "\
Exit status:
  0  done
  1  done, but a limit stated in the scenario is not met; the page says which
  2  bad input, or a file that cannot be read or written; nothing is written

Caution:
  An estimate is no measurement. No timing on the page is a calibration: start from the timing to
  start from or less, with knock detection.";

/// What `endgas dyno --fit` does.
pub(super) const FIT: &str = "\
Fit VE over rpm, driveline loss and burn speed to the pull, each held to its range,
and write the build as a new scenario; a file that exists is never overwritten. Where VE is
computed from pipes, their lengths, valve flow and wave damping move in place of a table
(--free-table: a table). Also predicts every fuel of the scenario from it. A pull that is not credible, or doubtful for
its scale, is not fitted without --fit-anyway";

/// What `endgas fuel` does.
pub(super) const FUELS: &str = "\
Show the properties of fuels: octane with its band, heating value, evaporation, air-fuel ratio,
best-power lambda, charge cooling, fuel flow, composition, and cautions on handling.

A fuel of uncertain ethanol content is shown at its lowest, likely and highest content.";

/// Examples of `endgas fuel`.
pub(super) const FUEL_EXAMPLES: &str = "\
Examples:
  endgas fuel premium-91 e85 \"premium-91 70 % + e85 30 %\"
  endgas fuel premium-91 --sweep --plot plots
  endgas fuel mix \"20 L e85 at 71 %\" \"30 L premium-91\"
  endgas fuel mix \"30 L premium-91\" --to \"50 %\" --add e85 --tank \"80 L\"

Exit status:
  0  done
  2  bad input, or a file that cannot be read or written; nothing is written";

/// What `endgas fuel mix` does.
pub(super) const MIX: &str = "\
Show what a tank holds after fuels were filled into it; volumes add, in L or US gal.

With --to and --add, show how much of a fuel to add to bring the likely ethanol content to the one
you want. The content of pump fuel is a range: measure it, and say so with \"at 71 %\".";

/// What `endgas volumes` does.
pub(super) const VOLUMES: &str = "\
Show the compression ratio that the measured volumes of a scenario make ([engine.volumes]): how
well it is known, each cylinder where measured by itself, the ratio from intake closing (IVC), what
a compression gauge should show at cranking, how much octane more ratio needs, and with --wanted
what each part must become, and combinations of parts that keep squish (quench) clearance right.

A scenario that states compression_ratio alone gives what follows from the ratio.";

/// Terms of `endgas volumes`.
pub(super) const VOLUMES_TERMS: &str = "\
Terms:
  ratio               1 + swept / clearance; clearance = chamber - dome + reliefs + deck clearance
                      + gasket + crevice. With lists by cylinder: from the mean clearance
  tolerance           plus or minus, met by eight of ten repeats (10-90 %); usual values of common
                      practice where the scenario states none (marked *)
  effective ratio     volume at intake closing (IVC) over clearance, exact slider-crank
  cranking pressure   air pressure times r to the power 1.20 / 1.25 / 1.30, r the ratio from the
                      valve seated, 15 deg after the stated closing (common practice)
  squish (quench)     deck clearance plus compressed gasket, tightest cylinder
  octane per ratio    rise of the octane requirement at MBT timing, on the fuel of the run with the
                      least octane, at the worst rpm at or above peak torque
  valves closer       how much closer intake and exhaust valves come to the piston, along the
                      cylinder; negative when farther
  to mean, to wanted  cc of clearance to add; negative to take away

Exit status:
  0  done
  2  bad input, or a file that cannot be read or written; nothing is written

Caution:
  Measure piston-to-head and valve-to-piston clearance after any change. More ratio needs more
  octane: start retarded and listen for knock.";

/// Help of `--fuel`.
pub(super) const FUEL: &str = "\
Fuel name, or recipe by volume such as \"premium-91 70 % + e85 30 %\". Repeatable.
Replaces the fuels of the scenario. The lambda that the scenario sets for all fuels
stays; without one, each fuel runs at its own lambda of best power";

/// Help of `--fuel-folder`.
pub(super) const FOLDER: &str = "\
Folder of your own fuel files (*.toml). A name must be new, unless the file says that it
replaces the shipped fuel of that name. docs/src/formats/fuel.md describes the format.
The option wins over the environment variable; an empty value means no folder";

/// Help of `--units`.
pub(super) const UNITS: &str =
    "Units of text, CSV and plots; JSON keeps the units that its keys name. Volumes of an engine are in cc";

/// Help of `--color`.
pub(super) const COLOR: &str = "\
Colour of the text on standard output: auto where it is a terminal and NO_COLOR is not set.
Bold titles and warnings alone; nothing needs it to be understood, and a file never has any";

/// Help of `--show-fuel`.
pub(super) const SHOW_FUEL: &str = "\
Fuel of the run on which the parts of --show are shown; repeatable. Default: the fuel that
limits; every fuel where --fuel names them";

/// Help of `--format`.
pub(super) const FORMAT: &str =
    "Form of the result; schema needs no scenario or fuel and ignores those given";

/// Terms, exit statuses, units and caution.
pub(super) const TERMS: &str = "\
Terms:
  integral            end-gas ignition integral I: dt / delay summed over the charge not burned yet,
                      to 90 % burned; it ignites by itself (knocks) at 1 (Livengood, Wu 1955).
                      Delay: form of Douaud and Eyzat, SAE 780080, constants fitted by endgas
  octane index        OI = RON - K (RON - MON): knock resistance of the fuel in this engine
                      (Kalghatgi, SAE 2001-01-3584); K is 0 port, -0.1 direct injection
  octane requirement  octane index at which I would be just 1: 100 I100^(1/b), I100 the integral
                      at octane 100, b the octane exponent of the delay
  octane margin       octane index less octane requirement; below 0 the end gas knocks
  knock-margin index  octane index over octane requirement; the limit is 1
  spark margin        degrees the limit could be advanced until the octane margin is 0
  MBT timing          minimum advance for best torque, knock ignored
  start               timing to start from on the real engine: the most advanced one, no further
                      than the limit, that is knock-free in 9 cases of 10; JSON:
                      cautious_spark_deg_btdc
  limit               likely limit: the lesser of MBT timing and the most advanced timing that keeps
                      the safety margin in the likely case; JSON: spark_deg_btdc
  knock, %            share of the cases (samples) that knock at a timing
  low, likely, high   10th, 50th and 90th percentile of the samples of the uncertain inputs; at the
                      start every sample runs the same timing, as a fixed map would; at the limit
                      each runs at its own, as a tuner would set it

Units:
  Metric: kW, N m, bar, C, g/kWh. US: hp, lb-ft, psi, F, lb/(hp h). Pressures are absolute.
  Timing: crank degrees before top dead centre (BTDC). JSON: the unit that each key ends with.
  Power and torque are uncorrected, in the stated weather. Powers corrected to SAE J1349 and ISO 1585
  are given beside them, at the flywheel, and are named so. Wheel: after the driveline; crank: before.
  Mechanical efficiency: brake over net indicated work; it holds friction, not pumping.

Exit status:
  0  done
  1  done, but a limit stated in the scenario is not met
  2  bad input, or a file that cannot be read or written; nothing is written

Caution:
  An estimate is no measurement. Start from the timing to start from or less, on a dyno with knock
  detection, before you rely on any timing stated here. Never cure knock with a leaner mixture.";

/// What `endgas live` does.
pub(super) const LIVE: &str = "\
Serve a page on this machine alone (127.0.0.1), on which the whole job is done: type the engine into
a form or open its scenario file, see what it makes while you move ratio, fuel, mixture, weather,
safety margin, rev limit, VE and driveline loss, and ask which piston to order, whether a target is
realistic, whether a pull is right, which injectors, what is in the tank, which timing to start
from, and for the customer's page. Two builds stand side by side.

The page keeps what you type until you close its tab, and writes a file only when you save one.
Without a scenario it begins with an empty form. Ctrl-C ends the program.";

/// Examples and caution of `endgas live`.
pub(super) const LIVE_EXAMPLES: &str = "\
Examples:
  endgas live                                   an empty form, in your browser
  endgas live my-build.toml --port 8040         always the same address
  endgas live my-build.toml --fuel e85 --units us --no-open

Caution:
  An estimate, not a calibration: start from the timing to start from or less, with knock detection.

Exit status:
  0  ended by Ctrl-C
  2  bad input, or the port cannot be had";

/// What `endgas new` does.
pub(super) const NEW: &str = "\
Write a short scenario to begin from: the engine of the options, or of your answers where it asks on
a terminal, or else an invented engine. What it does not state is taken as usual for the kind of
build. --full writes every key with its unit, its range and how it is measured.

Example:
  endgas new my-build.toml --bore 4.00in --stroke 3.48in --cylinders 8 --ratio 10.5 \\
    --kind performance-two-valve --peak-power 5800rpm --fuel premium-93 --fuel e85

A file that exists is never overwritten. Without a file, or with -, the scenario is printed.
Exit status 2: a mistake in the options or answers, or the file exists or cannot be written; nothing is written.";

/// What `endgas schema` does.
pub(super) const SCHEMA: &str = "\
Print the JSON schema (draft 2020-12) of a file that you write: a scenario, or a fuel file of a
component or a pump fuel. An editor that knows schemas of TOML then completes keys, shows what each
means with its range, and marks mistakes while you type.

Values that do not go together, such as a rod too short for the stroke, only a run finds.
The schema of a result is printed by its own command, as in: endgas estimate --format schema";

/// What `endgas completions` does.
pub(super) const COMPLETIONS: &str = "\
Print the script by which a shell completes commands, options and files, or write it with --out.

  bash        endgas completions bash --out ~/.local/share/bash-completion/completions/endgas
  fish        endgas completions fish --out ~/.config/fish/completions/endgas.fish
  zsh         endgas completions zsh --out _endgas, in a folder of $fpath
  powershell, elvish  add it to the profile

The file is written whole or not at all.";

/// What `endgas man` does.
pub(super) const MAN: &str = "\
Write manual pages into a folder, one for each command: endgas-estimate.1 and so on. Without --out
the page of endgas itself is printed.

Each file is written whole; pages of the same name are replaced.";
