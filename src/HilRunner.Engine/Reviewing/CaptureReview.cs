using System.Globalization;
using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Engine.Playing;

namespace HilRunner.Engine.Reviewing;

/// <summary>
/// Reads a capture from start to end: decodes what the device said, places each decision in stimulus time, and says what the
/// rig and the device did. Pure but for reading: the same capture gives the same evidence.
/// </summary>
public sealed class CaptureReview : IMessageSink
{
    private readonly Rig _rig;
    private readonly RunManifest _manifest;
    private readonly List<RawDecision> _decisions = [];
    private readonly IDeviceDecoder _decoder;
    private readonly ClockReview _clocks;
    private readonly LinkTimes _times;
    private readonly Dictionary<string, string> _identity = new(StringComparer.Ordinal);
    private readonly List<(HostTime? At, string What)> _incidents = [];
    private bool _begun;
    private HostTime? _origin;
    private HostTime _last;
    private string? _endCause;
    private string _endMessage = "";
    private long _consumed = -1;
    private long _sent;
    private int _resets;
    private int _silences;
    private int _opened;
    private long? _stampNs;
    private long _creditWaits;
    private long _creditWaitNs;
    private DecoderCounts _atBegin;
    private DecoderCounts? _untilReset;

    private CaptureReview(Rig rig, RunManifest manifest, IDeviceDecoder decoder)
    {
        _decoder = decoder;
        _rig = rig;
        _manifest = manifest;
        _clocks = new(rig.Device.Clock);
        _times = new(rig.Device.Link);
    }

    /// <param name="rig">As it was when the run was played.</param>
    /// <param name="manifest">run.yaml.</param>
    /// <param name="playout">playout.csv as far as it goes.</param>
    /// <param name="decoders">Of the same rig.</param>
    /// <param name="capture">At its start; null: none was written.</param>
    /// <exception cref="Core.BadInputException">The capture is damaged; says at which byte.</exception>
    public static RunEvidence Read(
        Rig rig, RunManifest manifest, IReadOnlyList<PlayoutRow> playout, IDecoderSource decoders, ICaptureReader? capture)
    {
        using IDeviceDecoder decoder = decoders.NewDecoder();
        var review = new CaptureReview(rig, manifest, decoder);
        while (capture is not null && capture.TryRead(out CaptureRecord record))
        {
            if (record.Event?.Name != RunEventNames.Origin) { review._last = record.At; }
            if (record.Kind == CaptureKind.FromDevice)
            {
                review._times.OnChunk(record.At, record.Bytes.Length);
                decoder.Feed(record.Bytes.Span, record.At, review);
            }
            else if (record.Kind == CaptureKind.Event) { review.OnEvent(record.Event!, record.At, capture); }
        }
        return review.Conclude(playout);
    }

    public void OnMessage(in DeviceMessage message)
    {
        switch (message.Kind)
        {
            case MessageKind.Identity:
                _times.OnIdentity(message.FirstByte);
                foreach (var (key, value) in message.Fields ?? _identity) { _identity[key] = value; }
                break;
            case MessageKind.Clock when message.Token is { } token && message.Ticks is { } ticks:
                OnClock(token, ticks, message.FirstByte);
                break;
            case MessageKind.Booted:
                _clocks.Restart();
                string version = message.Fields is { } fields && fields.TryGetValue("version", out string? said) ? $" (version {said})" : "";
                CountReset(message.FirstByte, $"device reset{version}");
                break;
            case MessageKind.Credit when _begun && message.N is { } n:
                _consumed = Math.Max(_consumed, n);
                break;
            case MessageKind.Decision when _begun && message.Class is { } name:
                _decisions.Add(new(
                    name, _rig.Device.Outputs[message.Output], message.N, _clocks.Stamp(message.Ticks, message.FirstByte), message.Confidence,
                    message.FirstByte, _times.EarlierNs(message.FirstByte), _clocks.Epoch));
                break;
        }
    }

    private void OnClock(ulong token, ulong ticks, HostTime firstByte)
    {
        HostTime? before = _clocks.LastAnswer;
        ClockStep step = _clocks.OnAnswer(token, ticks, firstByte);
        if (step == ClockStep.None) { return; }
        // Stamps since the last answer may be of either clock.
        for (int i = _decisions.Count - 1; i >= 0 && _decisions[i].FirstByte > before; i--) { _decisions[i] = _decisions[i] with { Device = null }; }
        if (step == ClockStep.BeganAnew) { CountReset(firstByte, "the device's clock began anew: taken for a reset, although no banner was seen"); }
        else { _incidents.Add((firstByte, "the device's clock jumped")); }
    }

    private void CountReset(HostTime at, string what)
    {
        if (!_begun) { return; }
        _untilReset ??= _decoder.Counts;
        _resets++;
        _incidents.Add((at, what));
    }

    private void OnEvent(RunEvent happened, HostTime at, ICaptureReader capture)
    {
        string Detail(string key) => happened.Details.TryGetValue(key, out string? value) ? value : "";
        switch (happened.Name)
        {
            case RunEventNames.Opened:
                _opened++;
                break;
            case RunEventNames.Step when Detail("step") == "begin":
                _begun = true;
                _atBegin = _decoder.Counts;
                break;
            case RunEventNames.Step when Detail("step") == "identity":
                _times.OnIdentityAsked(at);
                break;
            case RunEventNames.Step when Detail("step") == "clock":
                _clocks.OnAsked(
                    (ulong)happened.Whole("token", capture), happened.Moment("sent_unix_ns", at, capture));
                break;
            case RunEventNames.Paced:
                _stampNs = Number(Detail("stamp_ns"));
                _creditWaits = Number(Detail("credit_waits")) ?? 0;
                _creditWaitNs = Number(Detail("credit_wait_ns")) ?? 0;
                break;
            case RunEventNames.Origin:
                _origin = happened.Moment("unix_ns", at, capture);
                break;
            case RunEventNames.LinkLost:
                _incidents.Add((at, $"link lost: {Detail("message")}"));
                break;
            case RunEventNames.CreditStarved:
                CountSilence();
                _incidents.Add((at, $"device stopped taking samples: {Detail("sent")} sent, {Detail("consumed")} consumed"));
                break;
            case RunEventNames.Silent:
                CountSilence();
                _incidents.Add((at, Detail("message")));
                break;
            case RunEventNames.Ended:
                _endCause = Detail("cause");
                _endMessage = Detail("message");
                _sent = long.TryParse(Detail("sent"), NumberStyles.None, CultureInfo.InvariantCulture, out long handed) ? handed : 0;
                break;
        }
    }

    /// <summary>
    /// Messages that were damaged or not understood while the device was in its run. A reset cuts one message off, on
    /// either side; that, and what a device says that has forgotten its run, is the reset's doing and not the rig's.
    /// </summary>
    private long RigsTrouble(Func<DecoderCounts, long> count) => _untilReset is { } reset
        ? Math.Max(0, count(reset) - count(_atBegin) - 1)
        : count(_decoder.Counts) - count(_atBegin);

    private static long? Number(string text) => long.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out long value) ? value : null;

    /// <summary>A device that forgot its run in a reset is silent for that reason: it is one fault, not two.</summary>
    private void CountSilence()
    {
        if (_resets == 0) { _silences++; }
    }

    private RunEvidence Conclude(IReadOnlyList<PlayoutRow> playout)
    {
        DecoderCounts counts = _decoder.Counts;
        decimal? speed = Speeds.Factor(_manifest.Speed);
        _times.OnClocks(_clocks);
        var placement = new Placement(_manifest, _clocks, _times, _origin is { } zero && speed is { } factor ? new(playout, zero, factor) : null, _origin, _stampNs);
        var decisions = _decisions.Select(placement.Place).ToArray();
        long sent = playout.Count;
        bool whole = !_manifest.Injects ? _endCause == EndCause.Completed : sent >= _manifest.Samples;
        long? unconfirmed = _endCause == EndCause.Completed && _manifest.Injects && _rig.Device.Says.Credit is not null
            ? Math.Max(0, _manifest.Samples - 1 - _consumed)
            : null;
        long unknown = RigsTrouble(c => c.LinesUnknown);
        string? notUnderstood = NotUnderstood(counts, decisions.Length, unknown);
        if (notUnderstood is not null) { _silences = 0; }
        else if (_endCause == EndCause.Completed && decisions.Length == 0 && counts.Messages == _atBegin.Messages)
        {
            _silences++;
            _incidents.Add((null, "the device said nothing from begin to end"));
        }
        var health = RigFacts.Judge(new()
        {
            Limits = _rig.Health,
            Playout = playout,
            Timed = speed is not null,
            Lost = unconfirmed ?? 0,
            FramesBad = RigsTrouble(c => c.FramesBad),
            LinesUnknown = unknown,
            NotUnderstood = notUnderstood,
            Credit = (_creditWaits, _creditWaitNs),
            Missing = sent < _sent ? _sent - sent : 0,
            Reconnects = Math.Max(0, _opened - 1),
            ClockUncertaintyNs = placement.WorstClockUncertaintyNs,
            DecoderFailure = _decoder.Failure,
            EndCause = _endCause,
            EndMessage = _endMessage,
        });
        var skew = _clocks.MapOf(_clocks.LongestEpoch)?.Skew;
        var all = _manifest.Rate.TimeOf(_manifest.Samples - _manifest.LeadSamples);
        StimulusTime played = _manifest.Injects ? _manifest.Rate.TimeOf(Math.Max(0, sent - _manifest.LeadSamples))
            : _origin is { } began ? new(Math.Clamp(_last - began, 0, all.Ns)) : StimulusTime.Zero;
        return new RunEvidence
        {
            Decisions = decisions,
            Health = health,
            Device = new(_resets, _silences, skew?.Ppm) { ClockPpmUncertainty = skew?.UncertaintyPpm },
            End = whole ? all : played,
            Identity = _identity,
            Understood = counts.Messages,
            EndCause = _endCause,
            EndMessage = _endMessage,
            Timing = new()
            {
                Exchanges = _clocks.Answers,
                Unanswered = _clocks.Unanswered,
                Epochs = _clocks.Maps.Count(),
                LeastDelayNs = _clocks.Maps.Select(m => (long?)m.LeastDelayNs).Min(),
                UnevenNs = _clocks.Maps.Select(m => m.UnevenNs).DefaultIfEmpty().Max(),
                ByteNs = _times.ByteNs,
                LinkNs = placement.TakenOffNs,
                LinkFrom = placement.TakenOffNs is null ? "" : _times.OneWay.From,
                StampNs = _stampNs,
                CreditWaits = _creditWaits,
                CreditWaitNs = _creditWaitNs,
            },
            Incidents = [.. _incidents.Select(i => new Incident(i.At is { } at ? placement.StimulusAt(at) : null, i.What))],
        };
    }

    /// <summary>
    /// Where no message was ever understood, or none of many was a decision, a wrong pattern, wiring or baud rate looks the
    /// same as a mute device: nothing is known about the device then, and it is not called silent.
    /// </summary>
    private string? NotUnderstood(DecoderCounts counts, int decisions, long unknown)
    {
        if (!_begun || _endCause is not (EndCause.Completed or EndCause.Silent)) { return null; }
        string said = counts.LinesUnknown + counts.FramesBad == 0
            ? "nothing was heard from the device"
            : $"{counts.LinesUnknown} messages fit no pattern and {counts.FramesBad} frames were damaged";
        if (counts.Messages == 0) { return $"no message was ever understood ({said}); check wiring, speed and the formats under says"; }
        return decisions == 0 && unknown > 0
            ? $"no decision was understood, while {unknown} messages fit no pattern; check says.decisions"
            : null;
    }
}
