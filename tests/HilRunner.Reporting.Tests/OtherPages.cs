using HilRunner.Core.Acceptance;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Sweeps;
using HilRunner.Scoring;
using HilRunner.Scoring.Comparing;
using HilRunner.Scoring.Isolating;
using HilRunner.Scoring.Sweeping;

namespace HilRunner.Reporting.Tests;

/// <summary>Comparisons and evidences of invented runs.</summary>
internal static class OtherPages
{
    public static CompareResult Compared(StoredRun baseline, StoredRun candidate)
    {
        var comparison = BuildComparison.Of([Run(baseline)], [Run(candidate)], new CompareTolerances());
        var changed = comparison.Pairs.Where(p => p.Change is TrialChange.Lost or TrialChange.Gained).Take(4)
            .Select(p => new ChangedTrial(p, baseline, candidate) { BaselineReport = "../a/report.html", CandidateReport = "report.html" }).ToList();
        if (changed.Count == 0) { changed = [.. comparison.Pairs.Take(2).Select(p => new ChangedTrial(p, baseline, candidate))]; }
        return new("1.4.2", "1.5.0", comparison) { BaselineRuns = 1, CandidateRuns = 1, LeftOut = 1, Changed = changed, ChangedMore = 3 };
    }

    public static Evidence Accepted(SuiteResult result, IReadOnlyList<StoredRun> runs) => new()
    {
        Id = "20261125T020000Z-nightly / 0123456789ab",
        Plan = new() { Name = result.Name, Scenarios = ["a.yaml"], Claims = [], Item = runs[0].Manifest.RigName,
            Customer = result.Reasons[0], Delivery = DeliveryRule.NotShownIsAccepted },
        PlanText = "acceptance: " + result.Name,
        PlanSha256 = new('9', 64),
        Result = result,
        Runs = runs,
        Files = [("plan", result.Name, new('1', 64)), ("capture", "001/link.pcapng", "")],
        Deviations = [result.Reasons[0]],
    };

    /// <param name="said">What the device said, and every name of image, rig and class.</param>
    public static Case Complaint(string complaint, string said) => new()
    {
        Name = "belt", Begun = new(2026, 3, 3, 7, 0, 0, TimeSpan.Zero), Ended = new(2026, 3, 3, 8, 0, 0, TimeSpan.Zero), ToolVersion = "0.1.0", Key = "", Log = said + ".csv", LogSha256 = new('a', 64), When = "2026-03-02T11:32:35.000Z",
        Complaint = complaint, Expected = "conveyed", Reported = said, Rig = said, Build = said, Host = said, Culprit = Culprit.Firmware, Invented = true,
        Notes = [said], Evidence = [said, said], Spoiled = 1, ShareInterval = (0.55, 1),
        Plays = [new("as recorded", 5, 5, new Dictionary<string, int> { [said] = 5 }), new("varied", 4, 5, new Dictionary<string, int> { [said] = 4, ["nothing"] = 1 })],
        Excerpt = new(new(100_000), new Dictionary<string, double[]> { ["ax"] = Wave(650), ["gz"] = Wave(650) }, new(5_000_000_000), new(6_000_000_000), [new(1.77, said)], [new(1.77, "conveyed")], [new(0, said), new(3, "resting")]),
        Shrink = new(6.5, 2.3, 18, 44, said, "after 100 plays, as --most-plays allows", [said]),
        Bisection = new(said, said, 0.996, 12, 5, null, [new(said, 0, 3, null), new(said, 0, 0, said), new(said, 4, 5, null)]) { Settled = true, OrOneOf = [said] },
        Kept = new("keep", said, said, said),
    };

    public static string Html(Case item)
    {
        using var text = new StringWriter();
        CaseReport.Write(item, inside: true, text);
        return text.ToString();
    }

    /// <param name="said">Every name of rig, build, class and run.</param>
    /// <param name="across">Frequencies with a sweep at each; none: one sweep.</param>
    public static Sweep Swept(string said, int loops, params decimal[] across)
    {
        decimal?[] places = across.Length == 0 ? [null] : [.. across.Select(a => (decimal?)a)];
        SweepPoint[] points = [.. places.Select(place =>
        {
            SettledClass[] levels = [.. Enumerable.Range(1, loops).SelectMany(loop => new[] { true, false }.SelectMany(rising => Enumerable.Range(0, 12).Select(k =>
            {
                decimal level = 20 + 10 * k + 10m * (loop - 1) / loops;
                bool above = level > (rising ? 85 : 64);
                return new SettledClass(loop, rising, level, above ? said : "normal", k != 6, new Dictionary<string, double> { [above ? said : "normal"] = 1 });
            })))];
            return new SweepPoint(place, SwitchFinder.Find(levels, 10, 0.95), levels);
        })];
        var sweep = new Sweep
        {
            Name = "pull once per turn", Begun = new(2026, 3, 3, 7, 0, 0, TimeSpan.Zero), Ended = new(2026, 3, 3, 7, 5, 0, TimeSpan.Zero), ToolVersion = "0.1.0", Rig = said, Output = said, Build = said, ImageSha256 = new('b', 64), PlanSha256 = new('a', 64),
            Motion = "a tone of 25 Hz along z", Along = new("peak", "peak", "mg", 20, 140, 10), Across = across.Length == 0 ? null : new("tone", "frequency", "Hz"), DwellS = 2.5, SlowestStepS = 0.96,
            Repeats = loops, Seed = 1, Confidence = 0.95, Loops = loops * places.Length, Points = points, Verdict = Verdict.Inconc,
            Runs = [.. Enumerable.Range(1, loops).Select(l => new SweepRun(l, places[0], $"runs/{l:000}", l == 2 ? said : null))], Notes = [said],
        };
        var limit = new SweepLimit(SweepMeasure.SwitchUp, said, 70, 90);
        sweep = sweep with { Limits = [.. points.SelectMany(p => p.Switches.Select(s => new SweepLimitOutcome(limit, p.Across, $"{s.Below} to {s.Above}", s.Up, Outcome.Open, "its interval reaches over the bound")))] };
        return sweep with { Reasons = ["the rig spoiled 1 of 5 loops: " + said, .. sweep.Limits.Select(l => SweepWords.Sentence(l, sweep))] };
    }

    public static string Html(Sweep sweep)
    {
        using var text = new StringWriter();
        SweepReport.Write(sweep, text);
        return text.ToString();
    }

    public static string HtmlOfTwo(Sweep before, Sweep now)
    {
        using var text = new StringWriter();
        SweepCompareReport.Write(new(before, now, SweepComparison.Compare(before.Points, now.Points, 0.95), ["the dwell was 2 s, is 2.5 s"]), text);
        return text.ToString();
    }

    private static double[] Wave(int samples) => [.. Enumerable.Range(0, samples).Select(i => Math.Sin(i / 3.0))];

    public static string Html(CompareResult result)
    {
        using var text = new StringWriter();
        CompareReport.Write(result, text);
        return text.ToString();
    }

    public static string Html(Evidence evidence)
    {
        using var text = new StringWriter();
        EvidenceReport.Write(evidence, text);
        return text.ToString();
    }

    private static ComparedRun Run(StoredRun run) => new()
    {
        Scenario = run.Manifest.ScenarioName, Motion = "m", Outputs = [.. run.Score.Outputs.Select(o => o with { Output = "" })], Device = run.Score.Device, ReportKnown = true,
    };
}
