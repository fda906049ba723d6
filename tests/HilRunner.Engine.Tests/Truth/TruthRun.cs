using HilRunner.Core.Capture;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Signals;
using HilRunner.Core.Time;
using HilRunner.Device;
using HilRunner.Engine.Playing;
using HilRunner.Engine.Plans;
using HilRunner.Engine.Reviewing;
using HilRunner.Scoring;
using HilRunner.Transport.Capture;
using HilRunner.Transport.Decoding;

namespace HilRunner.Engine.Tests.Truth;

/// <summary>One row, played in real time by the real player into a real capture over a pty, then reviewed and scored from its files.</summary>
internal sealed class TruthRun
{
    private const double ResetShare = 0.75;
    private readonly HostClock _clock;
    private readonly string _folder;
    private readonly Rig _rig;
    private readonly Stimulus _stimulus;
    private readonly Witness _witness;
    private long _wakeNs;
    private readonly DeviceFormatFactory _formats = new();

    public TruthRun(TruthRow row, string folder, TimeSpan length, ulong seed, HostClock clock)
    {
        Row = row;
        _clock = clock;
        _folder = folder;
        Directory.CreateDirectory(folder);
        string model = Path.Combine(folder, "model.yaml");
        File.WriteAllText(model, TruthStimulus.Model(row));
        _stimulus = TruthStimulus.Make(row, length, seed);
        long? resetAt = row.Reset ? (long)(ResetShare * _stimulus.SampleCount) : null;
        Rig rig = RigFile.Parse(TruthStimulus.Rig(row), Path.Combine(folder, "rig.yaml"));
        _rig = rig with { Device = rig.Device with { Link = new Core.Links.BuiltinLinkSpec(row.Device(model, seed, resetAt)) } };
        _witness = new(clock);
    }

    public TruthRow Row { get; }

    /// <summary>Takes as long as the stimulus and a few seconds.</summary>
    public void Play()
    {
        using var wakes = new WakeWatch();
        using var session = new PlayerSession(_rig, _witness, _formats, new CaptureStore(), _clock);
        using var format = _formats.Create(_rig.Device);
        End = session.Play(PlanBuilder.Build(_stimulus, _rig.Device, format, Speeds.Factor(Speeds.Real), _folder));
        _wakeNs = wakes.Close();
    }

    /// <summary>How the player ended.</summary>
    public (string Cause, string Message) End { get; private set; }

    public DeviceCounters Counters => _witness.Counters!;

    /// <summary>What the tool says, beside what was.</summary>
    public TruthResult Review()
    {
        var playout = PlayoutFile.Read(Path.Combine(_folder, RunFiles.Playout));
        string capture = Path.Combine(_folder, RunFiles.Capture);
        RunEvidence evidence;
        using (var format = _formats.Create(_rig.Device))
        using (ICaptureReader reader = new CaptureStore().Open(capture))
        {
            evidence = CaptureReview.Read(_rig, Manifest(), playout, format, reader);
        }
        Score score = Scorer.Score(new ScoreInput
        {
            Reference = _stimulus.Reference,
            Decisions = evidence.Decisions,
            Outputs = _rig.Device.Outputs,
            End = evidence.End,
            Health = evidence.Health,
            Device = evidence.Device,
            Playout = playout,
            Rate = _stimulus.Rate,
            HeldUp = evidence.HeldUp,
        });
        long originNs = Origin(capture);
        var played = playout.ToDictionary(p => p.N, p => originNs + p.ActualNs);
        return new(Row, evidence, [.. Trials(score.Outputs.Single().Trials, played)], _wakeNs);
    }

    /// <summary>
    /// Every trial that has a latency in truth: its decision (the first of its class that was decided by one of its samples) was
    /// sent, and was made before the next onset was played, by a device that had made the one before in time. Judged by what was
    /// seen alone: what the tool makes of such a trial may be anything, nothing at all included.
    /// </summary>
    private IEnumerable<TruthTrial> Trials(IReadOnlyList<TrialScore> trials, Dictionary<long, long> played)
    {
        long[] first = [.. trials.Select(t => Sample(t.StartNs)), Sample(trials[^1].EndNs)];
        bool beforeInTime = true;
        for (int i = 0; i < trials.Count; i++)
        {
            var (made, firstByte) = _witness.Sent.Find(s =>
                s.Decision.Class == trials[i].Class && s.Decision.N >= first[i] && s.Decision.N < first[i + 1]);
            // A sample number places a decision in its trial however late it is made.
            bool inTime = Row.Numbered
                || (made.Class is not null && (!played.TryGetValue(first[i + 1], out long next) || _clock.ToUnixNs(made.At) < next));
            if (made.Class is not null && inTime && beforeInTime)
            {
                yield return new(
                    trials[i],
                    DecisionNs: _clock.ToUnixNs(made.At) - played[first[i]],
                    ReportNs: _clock.ToUnixNs(firstByte) - played[first[i]],
                    SampleNs: _stimulus.Rate.TimeOf(made.N).Ns - trials[i].StartNs);
            }
            beforeInTime = inTime;
        }
    }

    /// <summary>Number of the first sample at or after a time.</summary>
    private long Sample(long ns)
    {
        long n = _stimulus.Rate.SamplesBefore(new(ns));
        return n > 0 && _stimulus.Rate.TimeOf(n - 1).Ns >= ns ? n - 1 : n;
    }

    /// <summary>Host time of the stimulus's zero, as the capture tells it.</summary>
    private static long Origin(string path)
    {
        using ICaptureReader reader = new CaptureStore().Open(path);
        while (reader.TryRead(out CaptureRecord record))
        {
            if (record.Event is { Name: RunEventNames.Origin }) { return record.At.Ns; }
        }
        throw new InvalidDataException($"{path} has no origin");
    }

    private RunManifest Manifest() => TestManifest.Of("truth", _stimulus.Rate, _stimulus.SampleCount, 0, _stimulus.ChannelNames);
}

/// <param name="Trial">As the tool scored it.</param>
/// <param name="DecisionNs">From the playing of the onset's sample to the making of the decision, on the host's clock.</param>
/// <param name="ReportNs">From there to the handing over of the message's first byte at the device's end of the pty.</param>
/// <param name="SampleNs">From the onset's sample to the one that decided, in stimulus time.</param>
internal sealed record TruthTrial(TrialScore Trial, long DecisionNs, long ReportNs, long SampleNs);

/// <param name="WakeNs">How late this machine woke a thread that has nothing to do with the tool, in 99.5 % of the cases, ns.</param>
internal sealed record TruthResult(TruthRow Row, RunEvidence Evidence, IReadOnlyList<TruthTrial> Trials, long WakeNs);
