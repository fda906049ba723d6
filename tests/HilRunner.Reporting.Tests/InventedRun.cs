using HilRunner.Core.Recordings;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Scoring;

namespace HilRunner.Reporting.Tests;

/// <summary>
/// Made-up runs of a parcel tag: motion, reference, decisions and rig trouble from a seed. The score is counted on a grid of
/// 10 ms, the naive way, from the definitions: everything in such a run lies on that grid.
/// </summary>
internal sealed class InventedRun
{
    private const long Tick = 10_000_000;
    private static readonly string[] States = ["resting", "carried", "conveyed"];
    private readonly Random _random;

    public InventedRun(int seed = 1) => _random = new(seed);

    public int Trials { get; init; } = 12;
    public bool WithEvents { get; init; } = true;
    public bool Decides { get; init; } = true;
    public bool SixChannels { get; init; }
    public IReadOnlyList<string> Outputs { get; init; } = [""];
    public IReadOnlyList<string> Classes { get; init; } = ["resting", "carried", "conveyed", "dropped"];
    public Verdict Verdict { get; init; } = Verdict.Fail;
    public IReadOnlyList<string> Reasons { get; init; } = ["conveyed recognised in 3 of 4, needs 4"];
    public IReadOnlyList<LimitOutcome>? Limits { get; init; }
    public IReadOnlyList<RunIncident> Incidents { get; init; } = [];
    public IReadOnlyList<string> Faults { get; init; } = [];
    public bool Complete { get; init; } = true;
    public long GraceNs { get; init; } = 500_000_000;
    public int SecondsPerTrial { get; init; } = 10;
    public string ScenarioName { get; init; } = "depot morning";
    public int Repeat { get; init; } = 1;
    public string RecordingHash { get; init; } = new('a', 64);
    /// <summary>The output flips between two wrong classes once a second.</summary>
    public bool Flapping { get; init; }
    public int RateHz { get; init; } = 50;
    /// <summary>How decisions are timed.</summary>
    public DecisionTiming TimedBy { get; init; } = DecisionTiming.DeviceClock;
    /// <summary>False: played as fast as the device took it, so nothing was due and nothing is known of report latencies.</summary>
    public bool Paced { get; init; } = true;
    public RunTiming Timing { get; init; } = new() { Exchanges = 24, Unanswered = 1, Epochs = 1, LeastDelayNs = 820_000, UnevenNs = 31_000, StampNs = 190_000 };
    public DeviceHealth? Device { get; init; }
    public Delivery? Delivery { get; init; }
    public IReadOnlyList<string> Notes { get; init; } = [];
    public int Schema { get; init; } = ScoreJson.Schema;

    public StoredRun Build()
    {
        var rules = new ScoringRules { Events = WithEvents ? [Class("dropped")] : [], GraceNs = GraceNs, WithinNs = 4_000_000_000 };
        List<ReferenceInterval> reference = Reference();
        long end = Trials * SecondsPerTrial * 1_000_000_000L;
        var decisions = Decides ? Outputs.SelectMany(o => Decisions(reference, o)).ToList() : [];
        var outputs = Outputs.Select(o => CountedScore.Of(o, reference, [.. decisions.Where(d => d.Output == o)], rules, end, Tick)).ToList();
        var playout = Playout(end);
        long late = playout.Count(p => p.ActualNs - p.DueNs > 5_000_000);
        long[] behind = [.. playout.Where(p => p.DueNs is not null).Select(p => p.ActualNs - p.DueNs!.Value).Order()];
        long? Late(double share) => behind.Length == 0 ? null : behind[(int)Math.Ceiling(share * behind.Length) - 1];
        var health = new RigHealth
        {
            Sent = playout.Count, Late = late, LateP50Ns = Late(0.5), LateP99Ns = Late(0.99), LateP999Ns = Late(0.999), LateMaxNs = Late(1),
            ClockUncertaintyNs = TimedBy == DecisionTiming.DeviceClock && Decides ? 412_000 : null, Faults = Faults, Incomplete = !Complete,
        };
        return new()
        {
            Folder = "runs/2026-11-25-0612-depot-morning",
            Manifest = Manifest(end),
            Score = new() { Verdict = Verdict, Reasons = Reasons, Outputs = outputs, Limits = Limits ?? SomeLimits(),
                Health = health, Device = Device ?? new(Incidents.Count > 0 ? 1 : 0, 0, -12.4) { ClockPpmUncertainty = 0.83 },
                    Timing = Timing, Delivery = Delivery, Notes = [.. DeliveryNotes.Of(Delivery), .. Notes], Schema = Schema },
            Reference = reference,
            Decisions = decisions,
            Playout = playout,
            End = new(end),
            Timing = Timing,
            Motion = Motion(reference, end),
            Incidents = Incidents,
            ClassOrder = Classes,
            Rules = rules,
        };
    }

    private string Class(string name) => Classes.Count > 3 ? Classes[Array.IndexOf(["resting", "carried", "conveyed", "dropped"], name)] : name;

    private List<ReferenceInterval> Reference()
    {
        var reference = new List<ReferenceInterval>();
        long length = SecondsPerTrial * 1_000_000_000L;
        for (int i = 0; i < Trials; i++)
        {
            long start = i * length;
            bool dropped = WithEvents && i % 5 == 4;
            if (dropped)
            {
                reference.Add(new(new(start), new(start + 400_000_000), Class("dropped"), i));
                reference.Add(new(new(start + 400_000_000), new(start + length), Class("resting"), i));
                continue;
            }
            reference.Add(new(new(start), new(start + length), Class(States[i % 3]), i));
        }
        return reference;
    }

    private List<Decision> Decisions(List<ReferenceInterval> reference, string output)
    {
        var decisions = new List<Decision>();
        long Grid(double s) => (long)(s * 100) * Tick;
        foreach (var interval in reference)
        {
            double length = (interval.End - interval.Start) / 1e9;
            double reaction = 0.4 + 1.1 * _random.NextDouble() + (_random.Next(9) == 0 ? 3.2 : 0);
            if (interval.Class == Class("dropped"))
            {
                if (_random.Next(6) > 0) { Add(interval.Start.Ns + Grid(0.3 + _random.NextDouble()), interval.Class); }
                continue;
            }
            if (interval.Class == Class("conveyed") && _random.Next(5) == 0) { Add(interval.Start.Ns + Grid(1.2), Class("carried")); continue; }
            Add(interval.Start.Ns + Grid(Math.Min(reaction, length * 0.8)), interval.Class);
            if (_random.Next(3) == 0 && length > 8)
            {
                Add(interval.Start.Ns + Grid(6.1), Class("resting"));
                Add(interval.Start.Ns + Grid(6.1 + 0.2 + _random.NextDouble()), interval.Class);
            }
            if (WithEvents && _random.Next(14) == 0) { Add(interval.Start.Ns + Grid(7.5), Class("dropped")); }
        }
        for (int s = 0; Flapping && s < Trials * SecondsPerTrial; s++) { Add(s * 1_000_000_000L + 350_000_000, Class(States[s % 2])); }
        return [.. decisions.OrderBy(d => d.Time)];

        void Add(long ns, string name) => decisions.Add(new(new(ns), name, output)
        {
            Timing = TimedBy,
            Sample = TimedBy == DecisionTiming.Sample ? ns * RateHz / 1_000_000_000 : null,
            ArrivalNs = Paced ? ns + 12_000_000 + _random.Next(9_000_000) : null,
            ArrivalUncertaintyNs = Paced ? Timing.StampNs : null,
            UncertaintyNs = TimedBy switch { DecisionTiming.Sample => 0, DecisionTiming.DeviceClock => 412_000, _ => null },
        });
    }

    private List<PlayoutRow> Playout(long end)
    {
        var rows = new List<PlayoutRow>();
        long period = 1_000_000_000 / RateHz;
        for (long n = 0; n * period < end; n++)
        {
            long late = (long)(60_000 + 120_000 * _random.NextDouble() + (_random.Next(400) == 0 ? 3_400_000 * _random.NextDouble() : 0));
            if (Faults.Count > 0 && n is >= 2_000 and < 2_040) { late += 31_000_000; }
            rows.Add(Paced ? new(n, n * period, n * period + late) : new(n, null, n * 90_000));
        }
        return rows;
    }

    private Dictionary<string, double[]> Motion(List<ReferenceInterval> reference, long end)
    {
        string[] names = SixChannels ? ["ax", "ay", "az", "gx", "gy", "gz"] : ["ax", "ay", "az"];
        int count = (int)(end * RateHz / 1_000_000_000);
        var channels = names.ToDictionary(n => n, _ => new double[count]);
        int r = 0;
        for (int i = 0; i < count; i++)
        {
            double t = (double)i / RateHz;
            while (r + 1 < reference.Count && reference[r + 1].Start.Ns <= i * 1_000_000_000L / RateHz) { r++; }
            double into = (i * 1_000_000_000L / RateHz - reference[r].Start.Ns) / 1e9;
            string state = reference[r].Class;
            bool carried = state == Class("carried"), conveyed = state == Class("conveyed"), dropped = state == Class("dropped");
            double swing = carried ? 0.28 * Math.Sin(2 * Math.PI * 1.9 * t) : conveyed ? 0.06 * Math.Sin(2 * Math.PI * 14 * t) : 0;
            double noise = 0.012 * (_random.NextDouble() - 0.5);
            channels["ax"][i] = Math.Round(swing * 0.5 + noise, 3);
            channels["ay"][i] = Math.Round(swing * 0.25 * Math.Cos(t) + noise, 3);
            channels["az"][i] = Math.Round(dropped ? (into < 0.32 ? 0.02 : 3.4 * Math.Exp(-(into - 0.32) * 40)) + noise : 1 + swing + noise, 3);
            if (SixChannels)
            {
                channels["gx"][i] = Math.Round(swing * 190 + noise * 100, 1);
                channels["gy"][i] = Math.Round(swing * 70 * Math.Sin(t) + noise * 100, 1);
                channels["gz"][i] = Math.Round(dropped ? 220 * Math.Sin(9 * into) : noise * 100, 1);
            }
        }
        return channels;
    }

    private RunManifest Manifest(long end) => new()
    {
        Id = "2026-11-25-0612-depot-morning",
        Started = new(2026, 11, 25, 6, 12, 44, TimeSpan.Zero),
        Ended = Complete ? new DateTimeOffset(2026, 11, 25, 6, 12, 44, TimeSpan.Zero).AddTicks(end / 100) : null,
        Complete = Complete,
        ToolVersion = "0.1.0",
        Host = "bench-pc",
        Scenario = new("scenarios/depot-morning.yaml", new('c', 64), "scenario: depot morning"),
        Rig = new("rigs/bench-1.yaml", new('d', 64), "rig: bench-1"),
        ScenarioName = ScenarioName,
        RigName = "bench-1",
        Link = "builtin virtual device",
        Repeat = Repeat,
        Seed = 7,
        Speed = Paced ? "real" : "max",
        Build = new("nightly 214", "tag-214.bin", new('e', 64)),
        Identity = new Dictionary<string, string> { ["product"] = "parcel tag", ["version"] = "2.14.0" },
        Rate = new(RateHz * 1_000L),
        Samples = (int)(end * RateHz / 1_000_000_000) + 4 * RateHz,
        LeadSamples = 4 * RateHz,
        Channels = SixChannels ? ["ax", "ay", "az", "gx", "gy", "gz"] : ["ax", "ay", "az"],
        Clipped = SixChannels ? [0, 0, 2, 0, 0, 0] : [0, 0, 2],
        Sources = [new("recordings/depot-morning.csv", RecordingHash, new RecordingInfo { Source = "parcel 3", Provenance = "made by a generator for this test", Licence = "CC0-1.0", Invented = true })],
        EndCause = Complete ? "completed" : "link_lost",
    };

    private LimitOutcome[] SomeLimits() =>
    [
        new(new(Measure.Recognised) { Class = Class("carried"), AtLeast = 0.95 }, "recognised carried ≥ 0.95", 1, 0.95, Outcome.Held, "4 of 4", ""),
        new(new(Measure.Recognised) { Class = Class("conveyed"), AtLeast = 0.95 }, "recognised conveyed ≥ 0.95", 0.75, 0.95, Verdict == Verdict.Pass ? Outcome.Held : Outcome.Broken, "3 of 4", ""),
        new(new(Measure.Reaction) { Class = Class("dropped"), Statistic = Statistic.P95, AtMost = 1.5 }, "reaction dropped p95 ≤ 1.5 s", 1.21, 1.5, Outcome.Held, "", ""),
        new(new(Measure.Reaction) { Class = Class("resting"), Statistic = Statistic.P99, AtMost = 3 }, "reaction resting p99 ≤ 3 s", null, 3, Outcome.Open, "fewer trials than the bound needs", ""),
        new(new(Measure.ChatterPerMinute) { AtMost = 2 }, "chatter_per_minute ≤ 2", 1.8, 2, Outcome.Held, "", ""),
        new(new(Measure.DeviceResets) { AtMost = 0 }, "device_resets ≤ 0", 0, 0, Outcome.Held, "", ""),
        new(new(Measure.DeviceSilences) { AtMost = 0 }, "device_silences ≤ 0", 0, 0, Outcome.Held, "", ""),
    ];
}
