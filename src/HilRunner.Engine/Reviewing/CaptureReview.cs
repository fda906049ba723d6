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
    /// <summary>Most different values that are named beside a verdict.</summary>
    private const int MostNamed = 8;

    /// <summary>Most incidents that are told one by one: a device that starts again and again says so a million times.</summary>
    private const int MostIncidents = 1_000;

    /// <summary>A banner later than this after opening was not caused by it: no board takes so long to start.</summary>
    private const long LongestBootNs = 10_000_000_000;

    private readonly Rig _rig;
    private readonly RunManifest _manifest;
    private readonly List<RawDecision> _decisions = [];
    private readonly IDeviceDecoder _decoder;
    private readonly ClockReview _clocks;
    private readonly LinkTimes _times;
    private readonly Dictionary<string, string> _identity = new(StringComparer.Ordinal);
    private readonly List<(HostTime? At, string What)> _incidents = [];
    private long _furtherIncidents;
    private bool _begun;
    private HostTime? _origin;
    private HostTime _last;
    private string? _endCause;
    private string _endMessage = "";
    private long _sent;
    private int _resets;
    /// <summary>When the clock was seen to have begun anew in the run, without a banner.</summary>
    private readonly List<HostTime> _beganAnew = [];
    private int _silences;
    private bool _ended;
    private bool _stillSilent;
    private bool _starved;
    private bool _reviving;
    private bool _heardSinceBegin;
    private HostTime? _silentAt;
    private int _opened;
    private long? _stampNs;
    private long _creditWaits;
    private long _creditWaitNs;
    private DecoderCounts _atBegin;
    private DecoderCounts? _untilReset;
    private readonly SentSamples _sentBy;
    private readonly DeliveryReview _delivery;
    private readonly SortedDictionary<string, int> _unknownClasses = new(StringComparer.Ordinal);
    private long _unknownClassDecisions;
    private HostTime? _openedAt;
    private bool _heardSinceOpening;
    private HostTime? _bootedByOpening;
    private readonly List<(string By, bool Answered)> _revivals = [];

    private CaptureReview(Rig rig, RunManifest manifest, IReadOnlyList<PlayoutRow> playout, IDeviceDecoder decoder)
    {
        _decoder = decoder;
        _rig = rig;
        _manifest = manifest;
        _clocks = new(rig.Device.Clock, rig.Device.HasCheckSum);
        _times = new(rig.Device.Link);
        _sentBy = new(playout);
        _delivery = new(rig, manifest, _sentBy);
    }

    /// <param name="rig">As it was when the run was played.</param>
    /// <param name="manifest">run.yaml.</param>
    /// <param name="playout">playout.csv as far as it goes.</param>
    /// <param name="decoders">Of the same rig.</param>
    /// <param name="capture">At its start; null: none was written.</param>
    /// <param name="revivals">What was done to a silent device from outside afterwards, on the link that stayed open.</param>
    /// <exception cref="Core.BadInputException">The capture is damaged; says at which byte.</exception>
    public static RunEvidence Read(
        Rig rig, RunManifest manifest, IReadOnlyList<PlayoutRow> playout, IDecoderSource decoders, ICaptureReader? capture,
        IReadOnlyList<(string By, bool Answered)>? revivals = null)
    {
        using IDeviceDecoder decoder = decoders.NewDecoder();
        var review = new CaptureReview(rig, manifest, playout, decoder);
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
        if (capture is not null) { decoder.Finish(); }
        review._revivals.AddRange(revivals ?? []);
        return review.Conclude(playout);
    }

    public void OnMessage(in DeviceMessage message)
    {
        if (_reviving || _ended) { return; }
        _heardSinceBegin |= _begun;
        long? n = _delivery.OnMessage(message);
        if (message.Kind == MessageKind.Booted && _openedAt is { } opened
            && !_heardSinceOpening && message.FirstByte - opened <= LongestBootNs)
        {
            _heardSinceOpening = true;
            if (_begun) { _bootedByOpening = message.FirstByte; }
            _clocks.Restart();
            return;
        }
        _heardSinceOpening = true;
        switch (message.Kind)
        {
            case MessageKind.Counters:
                _clocks.Questions.Answer(MessageKind.Counters, message.FirstByte);
                break;
            case MessageKind.Identity:
                _clocks.Questions.Answer(MessageKind.Identity, message.FirstByte);
                _times.OnIdentity(message.FirstByte);
                foreach (var (key, value) in message.Fields ?? _identity) { _identity[key] = value; }
                break;
            case MessageKind.Clock when message.Token is { } token && message.Ticks is { } ticks:
                OnClock(token, ticks, message.FirstByte);
                break;
            case MessageKind.Booted:
                _clocks.Restart();
                _delivery.OnRestart();
                string version = message.Fields is { } fields && fields.TryGetValue("version", out string? said) ? $" (version {said})" : "";
                CountReset(message.FirstByte, $"device reset{version}");
                break;
            case MessageKind.Decision when _begun:
                if (message.UnknownClass is { } unknown) { CountUnknownClass(unknown); }
                _decisions.Add(new(
                    message.Class ?? Decision.NoClass, _rig.Device.Outputs[message.Output],
                    n, _clocks.Stamp(message.Ticks, message.FirstByte), message.Confidence,
                    message.FirstByte, _times.EarlierNs(message.FirstByte), _clocks.Epoch));
                break;
        }
    }

    private void OnClock(ulong token, ulong ticks, HostTime firstByte)
    {
        if (_clocks.OnAnswer(token, ticks, firstByte, _begun) is not { } happened) { return; }
        // Stamps since then may be of either clock.
        for (int i = _decisions.Count - 1; i >= 0 && _decisions[i].FirstByte > happened.After; i--)
        {
            _decisions[i] = _decisions[i] with { Device = null };
        }
        if (happened.StoodNs is { } stood)
        {
            string forS = (stood / 1e9).ToString("0.00", CultureInfo.InvariantCulture);
            AddIncident(
                firstByte, $"the device's clock jumped: it stood still for about {forS} s, as that of a halted device does; taken for no reset");
            return;
        }
        _delivery.OnRestart();
        _beganAnew.Add(firstByte);
        _untilReset ??= _decoder.Counts;
    }

    /// <summary>
    /// A clock that began anew is a reset, unless some of its answers are known to have been garbled: then that may be, too.
    /// </summary>
    private void JudgeBeginnings()
    {
        if (_clocks.Garbled > 0) { return; }
        _resets += _beganAnew.Count;
        foreach (var at in _beganAnew)
        {
            AddIncident(at, "the device's clock began anew: taken for a reset, although no banner was seen");
        }
    }

    private void AddIncident(HostTime? at, string what)
    {
        if (_incidents.Count < MostIncidents) { _incidents.Add((at, what)); }
        else { _furtherIncidents++; }
    }

    private void CountUnknownClass(string value)
    {
        _unknownClassDecisions++;
        if (_unknownClasses.ContainsKey(value) || _unknownClasses.Count < MostNamed)
        {
            _unknownClasses[value] = _unknownClasses.GetValueOrDefault(value) + 1;
        }
    }

    private void CountReset(HostTime at, string what)
    {
        if (!_begun) { return; }
        _untilReset ??= _decoder.Counts;
        _resets++;
        AddIncident(at, what);
    }

    private void OnEvent(RunEvent happened, HostTime at, ICaptureReader capture)
    {
        string Detail(string key) => happened.Details.TryGetValue(key, out string? value) ? value : "";
        switch (happened.Name)
        {
            case RunEventNames.Opened:
                _opened++;
                (_openedAt, _heardSinceOpening) = (at, false);
                break;
            case RunEventNames.Step when Detail("step") == "begin":
                _begun = true;
                _delivery.OnBegin();
                _atBegin = _decoder.Counts;
                break;
            case RunEventNames.Step when Detail("step") == "end":
                _delivery.OnEnd();
                break;
            case RunEventNames.Revival:
                if (Revivals.Of(happened) is { } revival) { _revivals.Add(revival); }
                break;
            case RunEventNames.Step when Detail("step") == "identity":
                _clocks.Questions.Ask(MessageKind.Identity, at, after: false);
                _times.OnIdentityAsked(at);
                break;
            case RunEventNames.Step when Detail("step") == "counters":
                _clocks.Questions.Ask(MessageKind.Counters, at, after: Detail("when") == "after");
                break;
            case RunEventNames.Step when Detail("step") == "ask":
                // Not by token: whatever is heard then is an answer, and ends the silence.
                _clocks.Questions.Ask(ulong.MaxValue - (ulong)_clocks.Questions.Asked, at, midRun: true);
                break;
            case RunEventNames.Step when Detail("step") == "revive":
                _reviving = true;
                break;
            case RunEventNames.Step when Detail("step") == "clock":
                _clocks.OnAsked(
                    (ulong)happened.Whole("token", capture), happened.Moment("sent_unix_ns", at, capture),
                    Detail("when") != "before" && _rig.Device.Clock?.Every > TimeSpan.Zero);
                break;
            case RunEventNames.Paced:
                _stampNs = Number(Detail("stamp_ns"));
                _creditWaits = Number(Detail("credit_waits")) ?? 0;
                _creditWaitNs = Number(Detail("credit_wait_ns")) ?? 0;
                break;
            case RunEventNames.Origin:
                _origin = happened.Moment("unix_ns", at, capture);
                _sentBy.Origin = _origin;
                break;
            case RunEventNames.LinkLost:
                AddIncident(at, $"link lost: {Detail("message")}");
                break;
            case RunEventNames.CreditStarved:
                CountSilence();
                _starved = true;
                AddIncident(at, $"device stopped taking samples: {Detail("sent")} sent, {Detail("consumed")} consumed");
                break;
            case RunEventNames.Silent:
                CountSilence();
                AddIncident(at, Detail("message"));
                break;
            case RunEventNames.Ended:
                _ended = true;
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
        if (_resets + _beganAnew.Count > 0) { return; }
        _silences++;
        _silentAt ??= _delivery.LastHeard;
    }

    /// <summary>What a silence comes to, once the whole capture was read.</summary>
    /// <returns>Why the run says nothing of the device; null: it was not silent, or the silence was its own.</returns>
    private string? JudgeSilence(Silence? unanswered, Func<HostTime, StimulusTime?> place)
    {
        if (unanswered is not null && _resets == 0)
        {
            _silences = Math.Max(_silences, 1);
            // At its last answer, or at what it said unasked after that.
            _silentAt = _delivery.LastHeard > unanswered.LastAnswer ? _delivery.LastHeard : unanswered.LastAnswer;
            AddIncident(_silentAt, $"the device answered none of the last {unanswered.Unanswered} questions");
        }
        // Seen at last, a reset explains why it stopped to take samples: it is one fault, not two.
        if (_resets > 0) { _silences = 0; }
        if (_silences == 0) { return null; }
        var judge = new SilenceJudge
        {
            Unanswered = unanswered,
            Revivals = _revivals,
            Starved = _starved,
            NothingWasLost = _delivery.NothingWasLost(),
            HeardSinceBegin = _heardSinceBegin,
            Since = (_silentAt is { } at ? place(at) : null) switch
            {
                null => "",
                { Ns: < 0 } => " before the first sample",
                { } last => $" after {last}",
            },
        };
        _stillSilent = judge.IsStillSilent;
        _silences = judge.IsOwn ? 1 : 0;
        if (judge.IsOwn && judge.AnsweredAfter is { } by and not RevivalBy.Waiting)
        {
            AddIncident(null, $"the silent device answered after a {by} on the same open link: the silence was its own");
        }
        return judge.IsOwn ? null : judge.Fault;
    }

    private RunEvidence Conclude(IReadOnlyList<PlayoutRow> playout)
    {
        DecoderCounts counts = _decoder.Counts;
        decimal? speed = Speeds.Factor(_manifest.Speed);
        _times.OnClocks(_clocks);
        JudgeBeginnings();
        var played = _origin is { } zero && speed is { } factor ? new PlayedTime(playout, zero, factor) : null;
        Silence? unanswered = _manifest.Injects ? _clocks.Questions.SilenceAtEnd() : null;
        // A device that says anything at all meanwhile is not silent, whatever it leaves unanswered.
        if (_delivery.LastHeard > unanswered?.Since || _revivals.Contains((RevivalBy.Waiting, true))) { unanswered = null; }
        Delivery delivery = _delivery.Conclude(
            _clocks.Questions, _endCause == EndCause.Completed,
            unanswered?.Since ?? (_silences > 0 ? _silentAt ?? _origin : null), at => played?.At(at));
        var placement = new Placement(_manifest, _clocks, _times, played, _origin, _stampNs)
        {
            CountedBy = _rig.Device.CountsSamples && delivery.ToDevice.Outcome != DeliveryOutcome.Delivered ? _sentBy : null,
        };
        var decisions = _decisions.Select(placement.Place).ToArray();
        long sent = playout.Count;
        bool whole = !_manifest.Injects ? _endCause == EndCause.Completed : sent >= _manifest.Samples;
        long? unconfirmed = _endCause == EndCause.Completed && _manifest.Injects && _rig.Device.Says.Credit is not null
            ? Math.Max(0, _manifest.Samples - 1 - _delivery.Consumed)
            : null;
        long unknown = RigsTrouble(c => c.LinesUnknown);
        string? notUnderstood = NotUnderstood(counts, decisions.Length, unknown);
        if (notUnderstood is not null) { _silences = 0; }
        else if (_endCause == EndCause.Completed && decisions.Length == 0 && counts.Messages == _atBegin.Messages)
        {
            _silences++;
            AddIncident(null, "the device said nothing from begin to end");
        }
        string? silence = JudgeSilence(notUnderstood is null ? unanswered : null, at => placement.StimulusAt(at));
        var health = RigFacts.Judge(new()
        {
            Limits = _rig.Health,
            Playout = playout,
            Timed = speed is not null,
            Lost = unconfirmed ?? 0,
            FramesBad = RigsTrouble(c => c.FramesBad),
            LinesUnknown = unknown,
            NotUnderstood = notUnderstood,
            Silence = silence,
            Others = [.. Others(delivery)],
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
        StimulusTime heard = _manifest.Injects ? _manifest.Rate.TimeOf(Math.Max(0, sent - _manifest.LeadSamples))
            : _origin is { } began ? new(Math.Clamp(_last - began, 0, all.Ns)) : StimulusTime.Zero;
        return new RunEvidence
        {
            Decisions = decisions,
            Health = health,
            Device = new(_resets, _silences, skew?.Ppm) { ClockPpmUncertainty = skew?.UncertaintyPpm },
            End = whole ? all : heard,
            StillSilent = _stillSilent && _endCause is EndCause.Completed or EndCause.Silent,
            Delivery = delivery,
            HeldUp = placement.HeldUp,
            Notes = [.. Notes(unknown)],
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
            Incidents =
            [
                .. _incidents.OrderBy(i => i.At?.Ns ?? long.MaxValue)
                    .Select(i => new Incident(i.At is { } at ? placement.StimulusAt(at) : null, i.What)),
                .. _furtherIncidents == 0 ? [] : new Incident[] { new(
                    null, $"{_furtherIncidents} more incidents beyond the {MostIncidents} listed") },
            ],
        };
    }

    /// <summary>What else makes the run say nothing of the device.</summary>
    private IEnumerable<string> Others(Delivery delivery)
    {
        foreach (var way in (DeliveryWay[])[delivery.ToDevice, delivery.FromDevice])
        {
            if (way.Outcome == DeliveryOutcome.NotDelivered) { yield return way.Evidence[0].Text; }
        }
        if (_bootedByOpening is { } booted)
        {
            double after = (booted - _openedAt!.Value) / 1e9;
            yield return FormattableString.Invariant(
                $"the device started {after:0.0} s after the port was opened, when the run had begun: opening resets it; add to the rig file device.on_open: {{wait: {Math.Ceiling(after) + 1:0} s, until: booted}}");
        }
        if (_beganAnew.Count > 0 && _clocks.Garbled > 0)
        {
            yield return $"the device's clock seems to have begun anew in the run, and {_clocks.Garbled} answers about it were garbled: whether the device was reset is not known; let it say a banner after a start (device.says.booted), or guard what it says by a check sum";
        }
        if (_clocks.EndsInDoubt)
        {
            yield return "the last answer about the device's clock stands where the clock cannot have run to: the device was reset, or the answer was garbled";
        }
    }

    /// <summary>What stands beside the verdict, whatever it is.</summary>
    private IEnumerable<string> Notes(long unknown)
    {
        if (unknown > 0 && _rig.Health.LinesUnknown is null)
        {
            yield return $"{unknown} messages from the device fit no description: garbled ones may be among them; describe them under device.says.ignore, and garbled ones are counted against the rig";
        }
        if (_unknownClasses.Count > 0)
        {
            string more = _unknownClassDecisions > _unknownClasses.Values.Sum() ? " and others" : "";
            yield return $"the device said classes that its map does not hold: {string.Join(", ", _unknownClasses.Select(c => $"\"{c.Key}\" ({c.Value} times)"))}{more}; they count as (none)";
        }
        if (_clocks.Garbled > 0) { yield return $"{_clocks.Garbled} answers about the device's clock were garbled"; }
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
