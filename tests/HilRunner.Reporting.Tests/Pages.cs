using HilRunner.Core.Runs;
using HilRunner.Scoring;

namespace HilRunner.Reporting.Tests;

/// <summary>The states in which a report can be seen, each as a page.</summary>
internal static class Pages
{
    public const string Hostile = "</script><script>document.title='broken in'</script><img src=x onerror=alert(1)>\"'&\u0000\u202egnihton";

    private const string Advice =
        "add “says.counters: {ask: count, answer: '^count (?<received>\\d+) (?<said>\\d+)$'}” to the rig file, where the device can count what it takes and what it says";

    /// <summary>Shown to the device, not from it.</summary>
    public static readonly Delivery NotShown = new()
    {
        ToDevice = DeliveryWay.Of(
            [new("credit", DeliveryFinding.Proves, "the device gave credit for all 6000 samples") { Expected = 6000,
                Seen = 6000 },
                    new("questions", DeliveryFinding.Agrees,
                        "25 of 25 questions were answered: at most 11.3 % are lost, at 95 %") { Expected = 25, Seen = 25 }]),
        FromDevice = DeliveryWay.Of(
            [new("seq", DeliveryFinding.Agrees,
                "no gap in 214 messages; none came after the end") { Expected = 214, Seen = 214 }]),
        CountOnly = true, AliveUntil = new(113_200_000_000), Advice = Advice,
    };

    public static readonly Delivery Delivered = new()
    {
        ToDevice = DeliveryWay.Of(
            [new("counters", DeliveryFinding.Proves,
                "the device counted all 6000 samples, none bad, none lost") { Expected = 6000, Seen = 6000 }]),
        FromDevice = DeliveryWay.Of(
            [new("counters", DeliveryFinding.Proves,
                "all 214 messages that the device counted were heard") { Expected = 214, Seen = 214 }]),
    };

    public static readonly Delivery NotDelivered = new()
    {
        ToDevice = DeliveryWay.Of(
            [new("counters", DeliveryFinding.Disproves, "the device counted 5937 of 6000 samples, 63 bad") { Expected = 6000,
                Seen = 5937 },
                    new("n", DeliveryFinding.Agrees, "the last decision names sample 5936") { Expected = 6000, Seen = 5937 }]),
        FromDevice = DeliveryWay.Of([new("questions", DeliveryFinding.Agrees, "25 of 25 questions were answered")]),
    };

    public static StoredRun Fail { get; } = new InventedRun(3) { Delivery = NotShown,
        Notes = ["3 messages were not understood, the first at 12.0 s: “hello”"] }.Build();

    public static StoredRun RigAtFault { get; } = new InventedRun(3)
    {
        Verdict = Verdict.Inconc, Reasons = ["40 of 6000 samples went out more than 5 ms late"], Faults = ["40 of 6000 samples went out more than 5 ms late (latest 31 ms), limit 0"],
        Incidents = [new(new(43_200_000_000), "the device reset (banner in mid-run)"), new(new(81_000_000_000), "no credit for 2 s"), new(null, "link lost")],
        Delivery = NotDelivered,
        Complete = false, SixChannels = true, Outputs = ["activity", "posture"],
    }.Build();

    public static StoredRun Exact { get; } = new InventedRun(5)
    {
        Delivery = Delivered,
        Verdict = Verdict.Pass, Reasons = ["all 7 limits held"], TimedBy = DecisionTiming.Sample, Device = new(0, 0, 0.2) { ClockPpmUncertainty = 0.83 },
        Timing = new() { Exchanges = 24, Epochs = 1, LeastDelayNs = 820_000, StampNs = 190_000, ByteNs = 86_806 },
    }.Build();

    public static StoredRun ArrivalOnly { get; } = new InventedRun(5)
    {
        Schema = 1,
        Verdict = Verdict.Pass, Reasons = ["all 7 limits held"], TimedBy = DecisionTiming.Arrival, Device = new(0, 0, null),
        Timing = new() { Unanswered = 4, ByteNs = 86_806, LinkNs = 1_640_000, LinkFrom = "half of the fastest of 4 answers to the identity question" },
    }.Build();

    /// <summary>A device too slow for the pace: its credit starves playout, and it resets.</summary>
    public static StoredRun Starved { get; } = new InventedRun(3)
    {
        Verdict = Verdict.Inconc, Reasons = ["40 of 6000 samples were sent late, up to 31.2 ms after they were due (limit 5 ms)"],
        Faults = ["40 of 6000 samples were sent late, up to 31.2 ms after they were due (limit 5 ms)"], Incidents = [new(new(40_900_000_000), "device reset (version 2.14.0)")],
        Timing = new() { Exchanges = 31, Unanswered = 3, Epochs = 2, LeastDelayNs = 820_000, UnevenNs = 0, StampNs = 190_000, CreditWaits = 12, CreditWaitNs = 3_400_000_000 },
    }.Build();

    public static StoredRun Unpaced { get; } = new InventedRun(5)
    {
        Delivery = Delivery.NotNeeded,
        Verdict = Verdict.Pass, Reasons = ["all 7 limits held"], TimedBy = DecisionTiming.Sample, Paced = false, Device = new(0, 0, null), Timing = new() { CreditWaits = 190, CreditWaitNs = 41_000_000 },
    }.Build();

    public static readonly IReadOnlyDictionary<string, Func<string>> All = new Dictionary<string, Func<string>>
    {
        ["fail"] = () => Html(Fail),
        ["pass"] = () =>
            Html(new InventedRun(5) { Verdict = Verdict.Pass, Reasons = ["all 7 limits held"],
                GraceNs = 0, Delivery = Delivery.NothingShown with { Advice = Advice } }.Build()),
        ["exact"] = () => Html(Exact),
        ["arrival only"] = () => Html(ArrivalOnly),
        ["starved"] = () => Html(Starved),
        ["unpaced"] = () => Html(Unpaced),
        ["rig at fault"] = () => Html(RigAtFault),
        ["no decisions"] = () => Html(new InventedRun(3) { Decides = false, Reasons = ["the device said nothing"] }.Build()),
        ["one trial"] = () => Html(new InventedRun(3) { Trials = 1, SecondsPerTrial = 20 }.Build()),
        ["many trials"] = () => Html(new InventedRun(3) { Trials = 500 }.Build()),
        ["hostile"] = () => Html(HostileRun()),
        ["nothing"] = () => Html(Nothing()),
        ["suite"] = () => Html(InventedSuite.Of(60)),
        ["suite of none"] = () => Html(InventedSuite.Of(0, Verdict.None) with { Ended = null }),
        ["suite of one"] = () => Html(InventedSuite.Of(1, Verdict.Pass)),
        ["varied suite"] = () => Html(InventedSuite.Varied(9, 1)),
        ["varied suite, a map"] = () => Html(InventedSuite.Varied(9, 6)),
        ["varied suite of one"] = () => Html(InventedSuite.Varied(1, 1)),
        ["varied suite of 400"] = () => Html(InventedSuite.Varied(20, 20)),
        ["hostile suite"] = () => Html(HostileSuite()),
        ["suite with a baseline"] = () => Html(InventedSuite.Of(6) with { Comparison = OtherPages.Compared(Fail, Exact), ComparisonPage = "compare.html" }),
        ["comparison"] = () => OtherPages.Html(OtherPages.Compared(Fail, Exact)),
        ["hostile comparison"] = () => OtherPages.Html(OtherPages.Compared(HostileRun(), HostileRun()) with { Baseline = Hostile, Candidate = Hostile }),
        ["evidence"] = () => OtherPages.Html(OtherPages.Accepted(InventedSuite.Of(9), [Fail, Exact])),
        ["case"] = () => OtherPages.Html(OtherPages.Complaint("The device said carried where it should have said conveyed", "carried")),
        ["case under way"] = () => OtherPages.Html(OtherPages.Complaint("the device fell silent", "carried") with { Culprit = null, Excerpt = null, Plays = [], Evidence = [], Shrink = null, Bisection = null, Kept = null, Ended = null }),
        ["hostile case"] = () => OtherPages.Html(OtherPages.Complaint(Hostile, Hostile) with { Name = Hostile }),
        ["sweep"] = () => OtherPages.Html(OtherPages.Swept("unbalanced", 5)),
        ["sweep of none"] = () => OtherPages.Html(OtherPages.Swept("unbalanced", 1) with { Points = [], Limits = [], Runs = [], Ended = null, Reasons = ["not finished: 0 of 1 loops were played"] }),
        ["sweep, a map"] = () => OtherPages.Html(OtherPages.Swept("unbalanced", 3, 15, 25, 60)),
        ["hostile sweep"] = () => OtherPages.Html(OtherPages.Swept(Hostile, 2, 15, 25)),
        ["two sweeps"] = () => OtherPages.HtmlOfTwo(OtherPages.Swept("unbalanced", 5), OtherPages.Swept("loose", 5)),
        ["hostile evidence"] = () => OtherPages.Html(OtherPages.Accepted(HostileSuite(), [HostileRun()])),
    };

    public static string Html(StoredRun run)
    {
        using var text = new StringWriter();
        RunReport.Write(run, text);
        return text.ToString();
    }

    public static string Html(SuiteResult suite)
    {
        using var text = new StringWriter();
        SuiteReport.Write(suite, text);
        return text.ToString();
    }

    /// <summary>Nothing was scored, no motion is stored, no limit was given, and the run died at its start.</summary>
    private static StoredRun Nothing()
    {
        StoredRun run = new InventedRun(3) { Trials = 0, Decides = false, Verdict = Verdict.None, Reasons = [], Limits = [], Complete = false }.Build();
        return run with { Motion = new Dictionary<string, double[]>(), Manifest = run.Manifest with { Sources = [] } };
    }

    private static StoredRun HostileRun()
    {
        string[] classes = [.. Enumerable.Range(0, 4).Select(i => Hostile + i)];
        StoredRun run = new InventedRun(3) { Classes = classes, Outputs = [Hostile], Reasons = [Hostile, Hostile],
            Notes = [Hostile, Hostile + ": " + Hostile], Delivery = HostileDelivery,
                Incidents = [new(new(5_000_000_000), Hostile)], Faults = [Hostile], ScenarioName = Hostile }.Build();
        return run with
        {
            Manifest = run.Manifest with { RigName = Hostile, Host = Hostile, Identity = new Dictionary<string, string> { [Hostile] = Hostile }, Build = new(Hostile, Hostile, Hostile), EndCause = Hostile },
            Motion = new Dictionary<string, double[]> { [Hostile] = [.. Enumerable.Range(0, 6000).Select(i => i % 7 == 0 ? double.NaN : Math.Sin(i))], ["empty"] = [], ["flat"] = new double[6000] },
        };
    }

    private static Delivery HostileDelivery =>
        new() { ToDevice = DeliveryWay.Of([new(Hostile, DeliveryFinding.Agrees, Hostile)]),
            FromDevice = DeliveryWay.Of([]), Advice = Hostile };

    private static SuiteResult HostileSuite()
    {
        SuiteResult suite = InventedSuite.Of(8);
        return suite with { Name = Hostile, Reasons = [Hostile],
            Runs = [.. suite.Runs.Select(
                r => r with { Scenario = Hostile, Reasons = [Hostile],
                    Notes = [Hostile], Report = "javascript:document.title='broken in'" })] };
    }
}
