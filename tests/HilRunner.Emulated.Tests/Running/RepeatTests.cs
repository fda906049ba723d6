using System.Globalization;
using System.Text.Json.Nodes;
using HilRunner.Cli.Tests;
using HilRunner.Core.Capture;
using HilRunner.Core.Runs;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Emulated.Tests.Truth;
using HilRunner.Scoring;
using HilRunner.Testing;
using HilRunner.Transport.Capture;

namespace HilRunner.Emulated.Tests.Running;

/// <summary>
/// One scenario of 8 s, one image, twenty times in real time. All that belongs to the stimulus comes out the same; what belongs to
/// the host's clock varies, and within what it says of itself.
/// </summary>
[Timing("report latencies of runs in real time are held against stamps beside them")]
public sealed class RepeatTests
{
    private const int Benches = 5, Repeats = 4, MostAttempts = 3;
    private TemporaryFolder _folder = null!;
    private List<Repeat> _runs = null!;

    /// <param name="Reports">Of the trials that have a report latency, in their order.</param>
    private sealed record Repeat(string Score, string Verdict, IReadOnlyList<Decision> Decisions, IReadOnlyList<Report> Reports, IReadOnlyList<(double LateNs, double HalfWidthNs)> Arrivals);

    /// <param name="StatedNs">Report latency by the tool.</param>
    /// <param name="ProxyNs">From the onset's sample handed to the emulator to the first byte out of it.</param>
    private sealed record Report(string Class, double StatedNs, double HalfWidthNs, double ProxyNs);

    [OneTimeSetUp]
    public void Play()
    {
        _folder = TestPaths.NewFolder("repeats");
        string rig = RigFiles.For(Images.Get(new()));
        var runs = new List<Repeat>[Benches];
        Parallel.For(0, Benches, new ParallelOptions { MaxDegreeOfParallelism = Benches }, bench => runs[bench] = Play(rig, _folder.File($"bench-{bench}")));
        _runs = [.. runs.SelectMany(r => r)];
    }

    [OneTimeTearDown]
    public void Remove() => _folder.Dispose();

    [Test]
    public void Verdict_decisions_and_every_figure_of_the_stimulus_are_the_same()
    {
        Assert.That(_runs, Has.Count.EqualTo(Benches * Repeats));
        Assert.That(_runs.Select(r => r.Verdict), Has.All.EqualTo("pass"));
        foreach (var run in _runs)
        {
            Assert.That(run.Decisions.Select(Exact), Is.EqualTo(_runs[0].Decisions.Select(Exact)));
            Assert.That(run.Score, Is.EqualTo(_runs[0].Score));
        }
        Assert.That(_runs[0].Decisions.Select(d => d.Class), Is.EqualTo(new[] { "resting", "carried", "dropped", "conveyed" }));

        static (long?, string, double?, long) Exact(Decision d) => (d.Sample, d.Class, d.Confidence, d.Time.Ns);
    }

    /// <summary>
    /// A byte reaches the host no sooner than the proxy starts to write it; the tool's stamp is no later than that by more than the
    /// half-width that it states.
    /// </summary>
    [Test]
    public void Arrivals_are_as_late_as_they_say()
    {
        var all = _runs.SelectMany(r => r.Arrivals).ToArray();
        int covered = all.Count(a => a.LateNs <= a.HalfWidthNs);
        TestContext.Out.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"{covered} of {all.Length}; late median {Median(all.Select(a => a.LateNs)) / 1e3:0} µs, most {all.Max(a => a.LateNs) / 1e3:0} µs; half-width median {Median(all.Select(a => a.HalfWidthNs)) / 1e3:0} µs"));
        Assert.That(all, Has.Length.EqualTo(Benches * Repeats * 4));
        Assert.That(all.Min(a => a.LateNs), Is.GreaterThan(-100e3), "the two processes' clocks agree");
        Assert.That(Binomial.AtMost(covered, all.Length, 0.99), Is.GreaterThan(0.001));
    }

    /// <summary>
    /// Report latencies differ from run to run by what the emulator took (seen by the proxy on the device's side) and by how late the
    /// host's stamps are. Less the former, all runs have one latency: each within its half-width of it, in 99 % of the runs. Counted are
    /// runs, not pairs: a run outside its half-width takes up to nineteen pairs with it.
    /// </summary>
    [Test]
    public void Report_latencies_vary_within_their_uncertainties()
    {
        int all = 0, covered = 0;
        foreach (var same in _runs.SelectMany(r => r.Reports).GroupBy(r => r.Class))
        {
            Report[] reports = [.. same];
            Assert.That(reports, Has.Length.EqualTo(Benches * Repeats), same.Key);
            int agree = MostThatAgree(reports);
            (all, covered) = (all + reports.Length, covered + agree);
            TestContext.Out.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"{same.Key}: stated {reports.Min(r => r.StatedNs) / 1e6:0.00} to {reports.Max(r => r.StatedNs) / 1e6:0.00} ms, ± {Median(reports.Select(r => r.HalfWidthNs)) / 1e6:0.00} ms; "
                + $"less the device's own {reports.Min(r => r.StatedNs - r.ProxyNs) / 1e6:0.00} to {reports.Max(r => r.StatedNs - r.ProxyNs) / 1e6:0.00} ms; {agree} of {reports.Length} agree"));
        }
        Assert.That(all, Is.EqualTo(3 * Benches * Repeats), "three classes have a report latency");
        Assert.That(Binomial.AtMost(covered, all, 0.99), Is.GreaterThan(0.001), $"{covered} of {all}");
    }

    /// <summary>The most intervals (what is left of the latency ± its half-width) that hold one common point. It may be looked for at their ends.</summary>
    private static int MostThatAgree(IReadOnlyList<Report> reports) =>
        reports.Max(end => reports.Count(r => Math.Abs(r.StatedNs - r.ProxyNs - (end.StatedNs - end.ProxyNs + end.HalfWidthNs)) <= r.HalfWidthNs + 1e-3));

    private static List<Repeat> Play(string rig, string folder)
    {
        // A machine that stands still for longer than the rig's health allows makes a run inconclusive, and is right to: that bench is played anew.
        for (int attempt = 1; ; attempt++)
        {
            using var proxy = new TcpProxy(Images.Get(new()));
            string anew = $"{folder}-{attempt}";
            var result = Hil.Run(
                "run", "scenarios/emulated/short.yaml", "--rig", rig, "--link", proxy.Url, "--speed", "real",
                "--repeat", Repeats.ToString(CultureInfo.InvariantCulture), "--out", anew, "--quiet");
            if (result.Code == 2 && attempt < MostAttempts)
            {
                TestContext.Out.WriteLine($"played anew: {result.Output}");
                continue;
            }
            Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
            return Read(anew, proxy);
        }
    }

    private static List<Repeat> Read(string folder, TcpProxy proxy)
    {
        string[] runs = [.. Directory.GetFiles(folder, RunFiles.Score, SearchOption.AllDirectories)
            .Select(s => Path.GetDirectoryName(s)!)
            .OrderBy(r => RunManifestFile.Read(Path.Combine(r, RunFiles.Manifest)).Started)];
        var (toDevice, fromDevice) = (Runs(proxy.ToDevice, "begin "), DecisionsOf(proxy));
        Assert.That(toDevice, Has.Count.EqualTo(runs.Length), "every run that was begun is stored");
        int before = 0;
        var repeats = new List<Repeat>();
        for (int i = 0; i < runs.Length; i++)
        {
            var decisions = DecisionsFile.Read(Path.Combine(runs[i], RunFiles.Decisions));
            repeats.Add(Read(runs[i], decisions, toDevice[i], fromDevice[before..(before + decisions.Count)]));
            before += decisions.Count;
        }
        // The tool plays a run again that the machine held up, and says inconclusive of the first.
        foreach (var held in repeats.Where(r => r.Verdict == Verdicts.Word(Verdict.Inconc)))
        {
            TestContext.Out.WriteLine($"held up, played again: {held.Score}");
        }
        repeats.RemoveAll(r => r.Verdict == Verdicts.Word(Verdict.Inconc));
        Assert.That(repeats, Has.Count.EqualTo(Repeats));
        Assert.That(fromDevice, Has.Length.EqualTo(before), "every decision that passed is in a run");
        return repeats;
    }

    private static PassedOn[] DecisionsOf(TcpProxy proxy) => [.. proxy.FromDevice.Where(l => l.Text.StartsWith("c ", StringComparison.Ordinal))];

    /// <summary>The lines from each that starts so to the next one.</summary>
    private static List<List<PassedOn>> Runs(PassedOn[] lines, string start)
    {
        var runs = new List<List<PassedOn>>();
        foreach (var line in lines)
        {
            if (line.Text.StartsWith(start, StringComparison.Ordinal)) { runs.Add([]); }
            if (runs.Count > 0) { runs[^1].Add(line); }
        }
        return runs;
    }

    private static Repeat Read(string folder, IReadOnlyList<Decision> decisions, List<PassedOn> toDevice, PassedOn[] passed)
    {
        var score = JsonNode.Parse(File.ReadAllText(Path.Combine(folder, RunFiles.Score)))!.AsObject();
        int lead = RunManifestFile.Read(Path.Combine(folder, RunFiles.Manifest)).LeadSamples;
        long zeroNs = Origin(Path.Combine(folder, RunFiles.Capture)) - Emulator.Clock.ToUnixNs(new(0));
        var arrivals = decisions.Zip(passed, (d, p) => (zeroNs + d.ArrivalNs!.Value - (double)p.Read.Ns, (double)d.ArrivalUncertaintyNs!.Value));
        var handed = toDevice.Where(l => l.Text.StartsWith("s ", StringComparison.Ordinal)).ToDictionary(l => int.Parse(l.Text.Split(' ')[1], CultureInfo.InvariantCulture), l => l.Written.Ns);
        var reports = new List<Report>();
        foreach (var trial in score["trials"]!.AsArray())
        {
            if (trial!["report_latency_s"] is not { } stated) { continue; }
            decimal start = (decimal)trial["start_s"]!, at = start + (decimal)trial["reaction_s"]!;
            string name = (string)trial["class"]!;
            int which = decisions.ToList().FindIndex(d => d.Class == name && d.Time.Seconds == at);
            int onset = lead + (int)Math.Ceiling(start * 100);
            reports.Add(new(name, 1e9 * (double)stated, 1e9 * (double)trial["report_uncertainty_s"]!, passed[which].Read.Ns - handed[onset]));
        }
        return new(OfTheStimulus(score), (string)score["verdict"]!, decisions, reports, [.. arrivals]);
    }

    private static long Origin(string capturePath)
    {
        using var capture = new CaptureStore().Open(capturePath);
        while (capture.TryRead(out var record))
        {
            if (record.Event?.Name == RunEventNames.Origin) { return long.Parse(record.Event.Details["unix_ns"], CultureInfo.InvariantCulture); }
        }
        throw new AssertionException("the capture tells no origin");
    }

    /// <summary>score.json less what is measured on the host's clock.</summary>
    private static string OfTheStimulus(JsonObject score)
    {
        var copy = score.DeepClone().AsObject();
        foreach (var trial in copy["trials"]!.AsArray())
        {
            trial!.AsObject().Remove("report_latency_s");
            trial.AsObject().Remove("report_uncertainty_s");
        }
        copy["latency"]!.AsObject().Remove("report");
        copy.Remove("timing");
        var health = copy["health"]!.AsObject();
        foreach (string key in health.Select(h => h.Key).Where(k => k.StartsWith("late", StringComparison.Ordinal)).ToArray()) { health.Remove(key); }
        var device = copy["device"]!.AsObject();
        device.Remove("clock_ppm");
        device.Remove("clock_ppm_uncertainty");
        return copy.ToJsonString();
    }

    private static double Median(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return sorted[sorted.Length / 2];
    }
}
