using System.Text.Json;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;
using HilRunner.Scoring.Limits;

namespace HilRunner.Scoring.Json;

/// <summary>
/// The inverse of <see cref="ScoreWriter"/>. Infinite latencies are written null and come back as +∞: a statistic over one
/// trial or more is always defined, and a limit whose figure is undefined is always open. Schema 1 knows nothing of delivery, of
/// notes, and of whether report times are known.
/// </summary>
internal static class ScoreReader
{
    public static Score Read(JsonElement root)
    {
        int schema = root.GetProperty("schema").GetInt32();
        if (schema is < 1 or > ScoreJson.Schema) { throw new InvalidDataException($"schema {schema}"); }
        bool withDelivery = schema >= ScoreJson.WithDelivery;
        var outputs = new List<OutputScore>();
        if (root.TryGetProperty("outputs", out var several))
        {
            outputs.AddRange(several.EnumerateObject().Select(o => ReadOutput(o.Name, o.Value)));
        }
        else
        {
            outputs.Add(ReadOutput(root.TryGetProperty("output", out var name) ? name.GetString()! : "", root));
        }
        var device = root.GetProperty("device");
        return new()
        {
            Verdict = ScoreWords.Verdict(Text(root, "verdict")),
            Reasons = Texts(root, "reasons"),
            Outputs = outputs,
            Limits = [.. root.GetProperty("limits").EnumerateArray().Select(ReadLimit)],
            Health = ReadHealth(root.GetProperty("health")),
            Device = new(Count(device, "resets"), Count(device, "silences"), Number(device, "clock_ppm"))
            {
                ClockPpmUncertainty = Number(device, "clock_ppm_uncertainty"),
            },
            Timing = ReadTiming(root.GetProperty("timing")),
            Delivery = withDelivery ? DeliveryJson.Read(root.GetProperty("delivery")) : null,
            Notes = withDelivery ? Texts(root, "notes") : [],
            ReportTimesKnown = withDelivery && root.GetProperty("report_times_known").GetBoolean(),
            Schema = schema,
        };
    }

    private static OutputScore ReadOutput(string name, JsonElement e)
    {
        var latency = e.GetProperty("latency");
        var events = Map(e.GetProperty("events"), v => new EventScore(
            Count(v, "hits"), Count(v, "misses"), Count(v, "false_alarms"), Number(v, "false_alarms_per_hour"))
        {
            AlarmsAtNs = v.TryGetProperty("false_alarm_times_s", out var times) ? [.. times.EnumerateArray().Select(NsOf)] : null,
        });
        var changes = e.GetProperty("changes");
        return new()
        {
            Output = name,
            Strict = ReadAgreement(e.GetProperty("strict")),
            Graced = ReadAgreement(e.GetProperty("graced")),
            Trials = [.. e.GetProperty("trials").EnumerateArray().Select(t => ReadTrial(t, events))],
            Reaction = Map(latency.GetProperty("reaction"), ReadSummary),
            Settling = Map(latency.GetProperty("settling"), ReadSummary),
            Report = Map(latency.GetProperty("report"), ReadSummary),
            Events = events,
            Changes = new(
                Count(changes, "observed"), Count(changes, "reference"), Count(changes, "surplus"), Ns(changes, "shortest_dwell_s"),
                Number(changes, "median_dwell_s"), Number(changes, "chatter_per_minute"), Number(changes, "surplus_per_minute")),
            Segments = Map(e.GetProperty("segments"), ReadSegments),
        };
    }

    private static Agreement ReadAgreement(JsonElement e) => new()
    {
        ScoredNs = NsOf(e.GetProperty("scored_s")),
        ConfusionNs = Map(e.GetProperty("confusion_s"), row => (IReadOnlyDictionary<string, long>)Map(row, NsOf)),
        Accuracy = Number(e, "accuracy"),
        BalancedAccuracy = Number(e, "balanced_accuracy"),
        Kappa = Number(e, "kappa"),
        Mcc = Number(e, "mcc"),
        PerClass = Map(e.GetProperty("per_class"), c => new ClassAgreement(Number(c, "recall"), Number(c, "precision"), Number(c, "f1"))),
    };

    private static TrialScore ReadTrial(JsonElement e, SortedDictionary<string, EventScore> events) => new()
    {
        Class = Text(e, "class"),
        IsEvent = events.ContainsKey(Text(e, "class")),
        StartNs = NsOf(e.GetProperty("start_s")),
        EndNs = NsOf(e.GetProperty("end_s")),
        Already = e.GetProperty("already").GetBoolean(),
        Missed = e.GetProperty("missed").GetBoolean(),
        Recognised = e.GetProperty("recognised").GetBoolean(),
        Counted = e.GetProperty("counted").GetBoolean(),
        ReactionNs = Ns(e, "reaction_s"),
        SettlingNs = Ns(e, "settling_s"),
        Dropouts = OptionalCount(e, "dropouts"),
        Chatter = OptionalCount(e, "chatter"),
        ReportLatencyNs = Ns(e, "report_latency_s"),
        UncertaintyNs = Ns(e, "uncertainty_s"),
        HoldOpen = e.TryGetProperty("hold_open", out var open) && open.GetBoolean(),
        ReportUncertaintyNs = Ns(e, "report_uncertainty_s"),
    };

    private static LatencySummary ReadSummary(JsonElement e)
    {
        int n = Count(e, "n");
        double? Value(string name) => Number(e, name) ?? (n == 0 ? null : double.PositiveInfinity);
        return new(n, Count(e, "missed"), Count(e, "already"), Value("p50"), Value("p90"), Value("p95"), Value("p99"), Value("max"), Value("mean"))
        {
            UncertaintyNs = Ns(e, "uncertainty_s"),
        };
    }

    private static SegmentScore ReadSegments(JsonElement e)
    {
        var r = e.GetProperty("reference");
        var o = e.GetProperty("observed");
        var t = e.GetProperty("time_s");
        long Time(string name) => NsOf(t.GetProperty(name));
        return new(
            new(Count(r, "correct"), Count(r, "deletion"), Count(r, "fragmented"), Count(r, "merged"), Count(r, "fragmented_and_merged")),
            new(Count(o, "correct"), Count(o, "insertion"), Count(o, "fragmenting"), Count(o, "merging"), Count(o, "fragmenting_and_merging")),
            new(Time("true_positive"), Time("insertion"), Time("merge"), Time("overfill_start"), Time("overfill_end"),
                Time("deletion"), Time("fragmentation"), Time("underfill_start"), Time("underfill_end")));
    }

    private static LimitOutcome ReadLimit(JsonElement e)
    {
        string text = Text(e, "limit");
        string output = Text(e, "output");
        double bound = JsonWords.Finite(e.GetProperty("bound"), "bound");
        bool most = Text(e, "direction") switch
        {
            "at_most" => true,
            "at_least" => false,
            var other => throw new InvalidDataException($"\"{other}\" is no direction; expected at_most or at_least"),
        };
        var outcome = ScoreWords.Outcome(Text(e, "outcome"));
        var limit = new Limit(ScoreWords.Measure(Text(e, "measure")))
        {
            Class = e.GetProperty("class").GetString(),
            Statistic = e.GetProperty("statistic").GetString() is { } statistic ? ScoreWords.Statistic(statistic) : null,
            AtMost = most ? bound : null,
            AtLeast = most ? null : bound,
            Confidence = Number(e, "confidence"),
            Output = text.EndsWith(LimitText.OutputSuffix(output), StringComparison.Ordinal) ? output : null,
        };
        double? figure = Number(e, "figure") ?? (outcome == Outcome.Open ? null : double.PositiveInfinity);
        return new(limit, text, figure, bound, outcome, Text(e, "why"), output);
    }

    private static RigHealth ReadHealth(JsonElement e) => new()
    {
        Sent = e.GetProperty("sent").GetInt64(),
        Lost = e.GetProperty("lost").GetInt64(),
        Late = e.GetProperty("late").GetInt64(),
        LateP50Ns = Ns(e, "late_p50_s"),
        LateP99Ns = Ns(e, "late_p99_s"),
        LateP999Ns = Ns(e, "late_p999_s"),
        LateMaxNs = Ns(e, "late_max_s"),
        FramesBad = e.GetProperty("frames_bad").GetInt64(),
        LinesUnknown = e.GetProperty("lines_unknown").GetInt64(),
        Reconnects = e.GetProperty("reconnects").GetInt64(),
        ClockUncertaintyNs = Ns(e, "clock_uncertainty_s"),
        Incomplete = e.GetProperty("incomplete").GetBoolean(),
        Faults = Texts(e, "faults"),
    };

    private static RunTiming? ReadTiming(JsonElement e) => e.ValueKind == JsonValueKind.Null ? null : new()
    {
        Exchanges = Count(e, "exchanges"),
        Unanswered = Count(e, "unanswered"),
        Epochs = Count(e, "epochs"),
        LeastDelayNs = Ns(e, "least_delay_s"),
        UnevenNs = NsOf(e.GetProperty("uneven_s")),
        ByteNs = Ns(e, "byte_s"),
        LinkNs = Ns(e, "link_s"),
        LinkFrom = Text(e, "link_from"),
        StampNs = Ns(e, "stamp_s"),
        CreditWaits = e.GetProperty("credit_waits").GetInt64(),
        CreditWaitNs = NsOf(e.GetProperty("credit_wait_s")),
    };

    private static SortedDictionary<string, T> Map<T>(JsonElement e, Func<JsonElement, T> value)
    {
        var map = new SortedDictionary<string, T>(StringComparer.Ordinal);
        foreach (var property in e.EnumerateObject()) { map[property.Name] = value(property.Value); }
        return map;
    }

    internal static string Text(JsonElement e, string name) =>
        e.GetProperty(name).GetString() ?? throw new InvalidDataException($"{name} is null");

    private static string[] Texts(JsonElement e, string name) =>
        [.. e.GetProperty(name).EnumerateArray().Select(t => t.GetString() ?? throw new InvalidDataException($"{name} holds a null"))];

    private static int Count(JsonElement e, string name) => e.GetProperty(name).GetInt32();

    private static int? OptionalCount(JsonElement e, string name) =>
        e.GetProperty(name) is { ValueKind: not JsonValueKind.Null } v ? v.GetInt32() : null;

    private static double? Number(JsonElement e, string name) =>
        e.GetProperty(name) is { ValueKind: not JsonValueKind.Null } v ? JsonWords.Finite(v, name) : null;

    private static long? Ns(JsonElement e, string name) =>
        e.GetProperty(name) is { ValueKind: not JsonValueKind.Null } v ? NsOf(v) : null;

    private static long NsOf(JsonElement e) => StimulusTime.FromSeconds(e.GetDecimal()).Ns;
}
