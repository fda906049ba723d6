using System.Globalization;
using System.Text;
using HilRunner.Core.Capture;
using HilRunner.Core.Links;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Engine.Plans;
using HilRunner.Engine.Playing;
using HilRunner.Engine.Reviewing;
using HilRunner.Scoring;
using HilRunner.Testing;
using HilRunner.Transport.Links;
using HilRunner.Transport.Capture;
using HilRunner.Transport.Decoding;

namespace HilRunner.Emulated.Tests.Truth;

/// <summary>One trial: the latency that the tool states, and the true one.</summary>
/// <param name="PlayedNs">The same as seen by the clock on the wall: from the onset's sample, as played, to the decision.</param>
internal readonly record struct TruthTrial(long StatedNs, long HalfWidthNs, double TrueNs, double PlayedNs);

/// <summary>What one run of a row gave.</summary>
/// <param name="RoundTripsNs">Of the tool's own questions that were answered, read from the lines of the capture.</param>
internal sealed record TruthRun(
    TruthCase Row, IReadOnlyList<TruthTrial> Trials, RunEvidence Evidence, Score Score, ReferenceClock Reference,
        IReadOnlyList<long> RoundTripsNs)
{
    /// <summary>
    /// The widest that the middle interval may be: twice (half the smallest round trip and the sample period; no byte time).
    /// Where the link holds questions up again and again, as much more as could hide between two answers: from one question,
    /// asked every half second, to the answer of the next.
    /// </summary>
    public double WidestNs => 2 * (RoundTripsNs.Min() / 2.0 + 1e9 / TruthModel.Rig.Device.Input.Rate.Hertz
        + (IsHeldUp ? 500e6 + RoundTripsNs.Max() : 0));

    /// <summary>
    /// Half-width of the clock's rate by the best two answers, ppm: half of both round trips over the time between them.
    /// Questions are asked at even times.
    /// </summary>
    public double RateKnownToPpm
    {
        get
        {
            int n = RoundTripsNs.Count;
            double betweenNs = Row.Seconds * 1e9 / n;
            return Enumerable.Range(0, n).SelectMany(i => Enumerable.Range(i + 1, n - i - 1)
                .Select(k =>
                    (RoundTripsNs[i] + RoundTripsNs[k]) / 2.0 / ((k - i) * betweenNs) * 1e6)).DefaultIfEmpty(double.PositiveInfinity).Min();
        }
    }

    /// <summary>
    /// Three and more round trips took 50 ms longer than the usual one, or over 100 ms. A device that thinks for long looks like
    /// that, and so does any while the machine that emulates it has no time for it.
    /// </summary>
    public bool IsHeldUp
    {
        get
        {
            long usual = RoundTripsNs.Order().ElementAt(RoundTripsNs.Count / 2);
            return RoundTripsNs.Count(d => d > Math.Min(100_000_000, usual + 50_000_000)) >= 3;
        }
    }
}

/// <summary>
/// The tool's own player, capture, review and scorer on an emulated device behind a proxy. The truth about a decision is its
/// device stamp on the reference clock, laid on the stimulus through playout.csv: between two samples, both as they were played,
/// stimulus time is taken to run evenly.
/// </summary>
internal sealed class TruthBench(TruthCase row, int seed)
{
    private static readonly TimeSpan s_between = TimeSpan.FromMilliseconds(8);
    private readonly Random _random = new(seed);
    private volatile bool _playing;

    public TruthRun Run()
    {
        using var folder = TestPaths.NewFolder("truth");
        var rig = TruthModel.Rig;
        var stimulus = TruthModel.Motion(row, _random);
        using var device = new Emulator(row.Image);
        var proxy = new Proxy(device.Link, Options());
        var manifest = new RunManifest
        {
            Id = row.Name,
            Started = default,
            ToolVersion = "",
            Host = "",
            Scenario = new("", "", ""),
            Rig = new("", "", ""),
            ScenarioName = row.Name,
            RigName = rig.Name,
            Link = proxy.Name,
            Speed = Speeds.Real,
            Rate = stimulus.Rate,
            Samples = stimulus.SampleCount,
            LeadSamples = stimulus.LeadSamples,
            Channels = stimulus.ChannelNames,
        };
        using var format = new DeviceFormatFactory().Create(rig.Device);
        var plan = PlanBuilder.Build(stimulus, rig.Device, format, 1, folder.Path);
        using (var session = new PlayerSession(rig, new OneLink(proxy), new DeviceFormatFactory(), new CaptureStore(), Emulator.Clock))
        using (var half = new Timer(_ => row.During?.Invoke(device), null, TimeSpan.FromSeconds(2 + row.Seconds / 2), Timeout.InfiniteTimeSpan))
        using (var asking = new Timer(_ => Ask(proxy), null, TimeSpan.Zero, s_between))
        {
            _playing = true;
            var (cause, message) = session.Play(plan);
            _playing = false;
            Assert.That(cause, Is.EqualTo(EndCause.Completed), $"{row.Name}: {message}");
        }
        var playout = PlayoutFile.Read(folder.File(RunFiles.Playout));
        using var capture = new CaptureStore().Open(folder.File(RunFiles.Capture));
        var evidence = CaptureReview.Read(rig, manifest, playout, format, capture);
        var score = Scorer.Score(new()
        {
            Reference = stimulus.Reference,
            Decisions = evidence.Decisions,
            Outputs = rig.Device.Outputs,
            End = evidence.End,
            Health = evidence.Health,
            Device = evidence.Device,
            Playout = playout,
            Rate = stimulus.Rate,
        });
        var reference = new ReferenceClock(proxy, row.SkewPpm);
        string path = folder.File(RunFiles.Capture);
        return new(row, Trials(evidence, score, reference, playout, Zero(path)), evidence, score, reference,
            [.. RoundTrips(path)]);
    }

    /// <summary>From the write that held a question to the read that began its answer, ns.</summary>
    private static IEnumerable<long> RoundTrips(string capturePath)
    {
        using var capture = new CaptureStore().Open(capturePath);
        var asked = new Dictionary<string, HostTime>();
        var line = new Dictionary<CaptureKind, (HostTime Begun, string Text)>();
        while (capture.TryRead(out var record))
        {
            if (record.Kind == CaptureKind.Event) { continue; }
            foreach (char c in Encoding.Latin1.GetString(record.Bytes.Span))
            {
                var (begun, text) = line.GetValueOrDefault(record.Kind, (record.At, ""));
                line[record.Kind] = (begun, text + c);
                if (c != '\n') { continue; }
                line.Remove(record.Kind);
                string[] words = text.Split(' ');
                if (words[0] != "t") { continue; }
                if (record.Kind == CaptureKind.ToDevice) { asked[words[1]] = begun; }
                else if (asked.Remove(words[1], out var sent)) { yield return begun - sent; }
            }
        }
    }

    private List<TruthTrial> Trials(RunEvidence evidence, Score score, ReferenceClock reference, IReadOnlyList<PlayoutRow> playout, long zeroNs)
    {
        Assert.That(reference.DecisionNs, Has.Count.EqualTo(evidence.Decisions.Count), $"{row.Name}: every decision line is a decision");
        double periodNs = 1e9 / TruthModel.Rig.Device.Input.Rate.Hertz;
        var trials = new List<TruthTrial>();
        var truths = evidence.Decisions.Zip(reference.DecisionNs).Where(p => p.First.UncertaintyNs is not null)
            .ToLookup(p => (p.First.Time.Ns, p.First.Class), p => (Stated: p.First, TrueNs: p.Second - zeroNs));
        foreach (var trial in score.Outputs[0].Trials.Where(t => t.ReactionNs is not null && !t.Already))
        {
            var found = truths[(trial.StartNs + trial.ReactionNs!.Value, trial.Class)].ToArray();
            if (found.Length == 0) { continue; }
            double at = StimulusAt(found[0].TrueNs, playout, periodNs);
            long onset = (long)Math.Round(trial.StartNs / periodNs);
            trials.Add(new(
                trial.ReactionNs.Value, trial.UncertaintyNs!.Value, at - trial.StartNs, found[0].TrueNs - playout.First(p => p.N == onset).ActualNs));
        }
        return trials;
    }

    /// <summary>Stimulus ns at a host time: the samples as they were played, and evenly between two.</summary>
    private static double StimulusAt(double hostNs, IReadOnlyList<PlayoutRow> playout, double periodNs)
    {
        int next = 0;
        while (next < playout.Count && playout[next].ActualNs <= hostNs) { next++; }
        if (next == 0 || next == playout.Count)
        {
            var edge = playout[next == 0 ? 0 : ^1];
            return edge.N * periodNs + (hostNs - edge.ActualNs);
        }
        PlayoutRow before = playout[next - 1], after = playout[next];
        return before.N * periodNs + (hostNs - before.ActualNs) / (after.ActualNs - before.ActualNs) * periodNs;
    }

    /// <summary>When the first stimulus sample was due, on the host's clock: what playout.csv counts from. The capture holds it as time of day.</summary>
    private static long Zero(string capturePath)
    {
        using var capture = new CaptureStore().Open(capturePath);
        while (capture.TryRead(out var record))
        {
            if (record.Event?.Name != RunEventNames.Origin) { continue; }
            return long.Parse(record.Event.Details["unix_ns"], CultureInfo.InvariantCulture) - Emulator.Clock.ToUnixNs(new(0));
        }
        throw new AssertionException("the capture tells no origin");
    }

    private ProxyOptions Options()
    {
        Func<TimeSpan>? Delay((int Least, int Most) ms, int stream)
        {
            if (ms.Most == 0) { return null; }
            var random = new Random(seed + stream);
            return () => TimeSpan.FromMilliseconds(ms.Least + random.NextDouble() * (ms.Most - ms.Least));
        }
        var losing = new Random(seed + 3);
        return new()
        {
            Toward = Delay(row.TowardMs, 1),
            Back = Delay(row.BackMs, 2),
            Lose = row.Lost == 0 ? null : line => line.StartsWith("t ", StringComparison.Ordinal) && losing.NextDouble() < row.Lost,
            OnLine = (proxy, line) =>
            {
                // A device that forgot its run would say nothing more: the link begins a new one.
                if (row.Reset && line.StartsWith("boot", StringComparison.Ordinal)) { ThreadPool.QueueUserWorkItem(_ => proxy.Say("begin 200000")); }
            },
        };
    }

    private void Ask(Proxy proxy)
    {
        if (!_playing) { return; }
        try { proxy.AskTime(); }
        catch (LinkException over)
        {
            // The run ended meanwhile.
            _ = over;
        }
    }

    private sealed class OneLink(ILink link) : ILinkOpener
    {
        public ILink Open(LinkSpec spec) => link;

        public ILink OpenWithRetry(LinkSpec spec, TimeSpan limit) => link;

        public ILink? OpenLoop() => new LinkOpener(Emulator.Clock, _ => throw new InvalidOperationException("a loop is no builtin link")).OpenLoop();
    }
}
