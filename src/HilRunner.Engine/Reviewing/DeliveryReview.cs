using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Statistics;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Reviewing;

/// <summary>
/// Gathers, from all that a rig describes, what proves or disproves that every sample arrived at the device and every message
/// here. What each line of a rig file proves stands in rigs/README.md.
/// </summary>
/// <param name="rig">As it was when the run was played.</param>
/// <param name="manifest">run.yaml.</param>
/// <param name="sent">What was handed to the link, and when.</param>
internal sealed class DeliveryReview(Rig rig, RunManifest manifest, SentSamples sent)
{
    /// <summary>
    /// A device that counts and is behind by this much more at the end than at the start lost samples: far above what thinking
    /// takes.
    /// </summary>
    private const double BehindS = 0.25;

    /// <summary>Fewer numbered decisions show no trend.</summary>
    private const int FewestNumbered = 3;

    private readonly DeviceDescription _device = rig.Device;
    private readonly SequenceCheck _sequence = new();
    private readonly List<(int Output, long? N, string Class, HostTime At)> _decided = [];
    /// <summary>At how many samples the number of decisions begins anew; 0: it does not.</summary>
    private long _numberWraps;
    private CounterValues? _before;
    private CounterValues? _after;
    private bool _ended;
    private HostTime? _lastHeard;
    private bool _answeredAfter;
    private bool _answerNumbered;
    /// <summary>Messages that the device counts as said.</summary>
    private long _heard;
    private long _consumed = -1;
    /// <summary>The sample number of the last credit; −1: none came.</summary>
    private long _lastCredit = -1;
    /// <summary>Numbers that cannot be: of samples not sent yet, or of credit that went back.</summary>
    private int _impossible;
    private bool _begun;
    private bool _restarted;

    /// <summary>Highest sample number that the device's credit confirmed; −1: none.</summary>
    public long Consumed => _consumed;

    /// <summary>When anything was understood last.</summary>
    public HostTime? LastHeard => _lastHeard;

    public void OnBegin() => _begun = true;

    /// <summary>The end message is about to be sent: what answers from here on was alive after the last sample.</summary>
    public void OnEnd() => _ended = true;

    /// <summary>The device started anew in mid-run: its counts are of no use.</summary>
    public void OnRestart()
    {
        _sequence.Restart();
        _restarted |= _begun;
    }

    /// <summary>A message as decoded; returns the sample number, unwrapped.</summary>
    public long? OnMessage(in DeviceMessage message)
    {
        _lastHeard = message.LastByte;
        if (_ended && message.Kind is MessageKind.Clock or MessageKind.Counters or MessageKind.Identity)
        {
            _answeredAfter = true;
            _answerNumbered = message.Seq is not null;
        }
        if (message.Seq is { } seq) { _sequence.OnMessage(seq, message.SeqWraps, _begun, sent.At(message.FirstByte)); }
        long? n = message.N is { } raw ? WrappedNumber.Sample(raw, message.NWraps, sent.At(message.FirstByte)) : null;
        switch (message.Kind)
        {
            case MessageKind.Counters when message.Fields is { } fields:
                CounterValues? values = CounterValues.Read(fields, _heard);
                if (_begun) { _after = values ?? _after; }
                else { _before = values ?? _before; }
                break;
            case MessageKind.Decision:
                _heard++;
                if (!_begun) { break; }
                if (n is { } decided && IsNotSentYet(decided, message.FirstByte)) { _impossible++; }
                _numberWraps = message.NWraps;
                _decided.Add((message.Output, n, message.Class ?? "", message.FirstByte));
                break;
            case MessageKind.Credit:
                CountOther();
                if (_begun && n is { } credited) { OnCredit(credited, message.FirstByte); }
                break;
            case MessageKind.Sample or MessageKind.Features:
                CountOther();
                break;
        }
        return n;
    }

    private void OnCredit(long n, HostTime at)
    {
        if (IsNotSentYet(n, at) || n < _lastCredit)
        {
            _impossible++;
            return;
        }
        (_lastCredit, _consumed) = (n, Math.Max(_consumed, Math.Min(n, sent.All - 1)));
    }

    /// <summary>The number of a message of several samples stands for its last one, also where it holds fewer.</summary>
    private bool IsNotSentYet(long n, HostTime at) => n >= sent.At(at) + _device.Hears.SamplesPerMessage - 1;

    /// <summary>A message that is no decision: not every device counts those.</summary>
    private void CountOther()
    {
        if (_device.Says.Counters is { SaidCountsDecisions: false }) { _heard++; }
    }

    private CountedRun? Counted => _device.Says.Counters is { } query ? CountedRun.Of(query, _before, _after) : null;

    /// <param name="questions">About the device's clock.</param>
    /// <param name="completed">The run reached its end: everything was sent and the device had its time.</param>
    /// <param name="silentSince">From when on the device answered nothing; null: it did not fall silent.</param>
    /// <param name="place">Host time to stimulus time, where there is a relation.</param>
    public Delivery Conclude(QuestionLog questions, bool completed, HostTime? silentSince, Func<HostTime, StimulusTime?> place)
    {
        if (!manifest.Injects) { return Delivery.NotNeeded; }
        List<DeliveryEvidence> to = [], from = [];
        if (completed && silentSince is null && !_restarted)
        {
            to.AddRange(Credit());
            to.AddRange(LastDecision());
            Count(to, from);
        }
        if (!_restarted)
        {
            Windows(to, from, completed && silentSince is null);
            // What was counted whole was not lost: then the device is merely slow.
            bool whole = to.Any(e => e.Finding == DeliveryFinding.Proves) && to.All(e => e.Finding != DeliveryFinding.Disproves);
            to.AddRange(Behind(whole));
        }
        from.AddRange(Sequence(completed));
        if (!_restarted && _impossible > 0 && DeliveryWay.Of(from).Outcome != DeliveryOutcome.NotDelivered)
        {
            string messages = _impossible == 1 ? "1 message has a sample number" : $"{_impossible} messages have sample numbers";
            from.Add(new("n", DeliveryFinding.Disproves,
                $"{messages} that cannot be, of samples not yet sent or of credit that goes back: garbled on the way here"));
        }
        bool counted = DeliveryWay.Of(to).Outcome == DeliveryOutcome.Delivered
            && DeliveryWay.Of(from).Outcome == DeliveryOutcome.Delivered;
        if (Questions(questions, silentSince, counted) is { } asked)
        {
            to.Add(asked);
            from.Add(asked);
        }
        var ways = (To: DeliveryWay.Of(to), From: DeliveryWay.Of(from));
        bool shown = ways.To.Outcome == DeliveryOutcome.Delivered && ways.From.Outcome == DeliveryOutcome.Delivered;
        return new()
        {
            ToDevice = ways.To,
            FromDevice = ways.From,
            CountOnly = ways.To.Outcome == DeliveryOutcome.Delivered && !_device.HasCheckSum,
            AliveUntil = completed && silentSince is null && !IsShownAlive() ? AliveUntil(place) : null,
            Advice = shown || !completed ? "" : Advice(ways.To.Outcome, ways.From.Outcome),
        };
    }

    /// <summary>
    /// By the device's own counters it took all that was sent so far, and all that it said was heard. False where it has no such
    /// counters, did not answer, or counts decisions alone: credit may have been lost then.
    /// </summary>
    public bool NothingWasLost() =>
        _device.Says.Counters is { SaidCountsDecisions: false } && Counted is { } counted && counted.NothingWasLost(sent.All);

    /// <summary>Something that only a living device does came after the last sample was sent.</summary>
    private bool IsShownAlive() => _answeredAfter || _consumed >= manifest.Samples - 1;

    private StimulusTime? AliveUntil(Func<HostTime, StimulusTime?> place)
    {
        StimulusTime end = manifest.Rate.TimeOf(manifest.Samples - manifest.LeadSamples);
        return _lastHeard is { } at && place(at) is { } heard && heard < end
            ? heard < StimulusTime.Zero ? StimulusTime.Zero : heard : null;
    }

    private IEnumerable<DeliveryEvidence> Credit()
    {
        if (_device.Says.Credit is null) { yield break; }
        long all = manifest.Samples, missing = Math.Max(0, all - 1 - _consumed);
        if (missing > rig.Health.Lost)
        {
            yield return new("credit", DeliveryFinding.Disproves,
                $"{missing} samples were sent but never confirmed by the device (limit {rig.Health.Lost})")
            {
                Expected = all,
                Seen = _consumed + 1,
            };
            yield break;
        }
        bool proves = _device.CountsSamples && missing == 0;
        yield return new("credit", proves ? DeliveryFinding.Proves : DeliveryFinding.Agrees, proves
            ? $"the device confirmed all {all} samples, which it counts itself"
            : $"the device confirmed the last sample by the number that it was told, which says nothing of those before it")
        {
            Expected = all,
            Seen = _consumed + 1,
        };
    }

    /// <summary>
    /// A device that counts what came and whose last decision is of the last sample has them all. A number that begins anew
    /// proves it only for fewer samples: a loss of just as many would not show.
    /// </summary>
    private IEnumerable<DeliveryEvidence> LastDecision()
    {
        long all = manifest.Samples;
        if (!_device.CountsSamples || _impossible > 0 || (_numberWraps > 0 && all > _numberWraps)) { yield break; }
        if (_decided.Count > 0 && _decided[^1].N is { } last && last >= all - 1)
        {
            yield return new("n", DeliveryFinding.Proves,
                $"the device counted all {all} samples: it says so with its last decision")
            {
                Expected = all,
                Seen = all,
            };
        }
    }

    private void Count(List<DeliveryEvidence> to, List<DeliveryEvidence> from)
    {
        if (_device.Says.Counters is not { } query) { return; }
        if (Counted is not { } counted)
        {
            // Where nothing shows that it took samples, the message that begins the run may be lost like the question.
            bool took = _decided.Count > 0 || _consumed >= 0;
            const string what = "the device did not answer the question for its counters";
            to.Add(took ? new("counters", DeliveryFinding.Agrees, what) : new("counters", DeliveryFinding.Disproves,
                $"{what}, and said nothing in the run: that message, or the one that begins the run, was lost on its way, or the"
                    + " device has no such counters (take says.counters out)"));
            return;
        }
        string refused = string.Join(
            ", ", ((string[])["bad", "lost", "overrun"]).Where(n => counted.Grown(n) > 0).Select(n => $"{n} {counted.Grown(n)}"));
        if (counted.Grown("received") is { } received) { to.Add(Received(counted, received, refused)); }
        else if (refused.Length > 0) { to.Add(new("counters", DeliveryFinding.Disproves, $"the device counted {refused}")); }
        if (counted.Grown("dropped") is > 0 and var dropped)
        {
            from.Add(new("counters", DeliveryFinding.Disproves, $"the device counted {dropped} messages that it could not send"));
        }
        if (counted.Grown("said") is { } said)
        {
            string what = query.SaidCountsDecisions ? "decisions" : "messages";
            from.Add(new(
                "counters", !counted.Shows(said, counted.Heard) ? DeliveryFinding.Disproves
                    : counted.Covers(counted.Heard) ? DeliveryFinding.Proves : DeliveryFinding.Agrees,
                $"the device said {said} {what}, {counted.Heard} were heard")
            {
                Expected = (long)Math.Min(said, long.MaxValue),
                Seen = counted.Heard,
            });
        }
    }

    private DeliveryEvidence Received(CountedRun counted, ulong received, string refused)
    {
        long all = manifest.Samples;
        bool complete = counted.Shows(received, all), whole = complete && counted.Covers(all), guarded = _device.HasCheckSum
            || refused.Length == 0;
        bool allowed = !complete && received < (ulong)all
            && (ulong)all - received <= (ulong)rig.Health.Lost && refused.Length == 0;
        string wraps = counted.WrapsAt is { } end && all >= end
            ? $" (it wraps at {end}{(complete && !whole ? ": a loss of just as many would not show" : "")})" : "";
        string also = refused.Length > 0 ? $", and {refused}" : "";
        string garbled = complete && !guarded ? ": what is garbled on a link without a check sum may also pass for a sample" : "";
        return new(
            "counters", whole && guarded ? DeliveryFinding.Proves : allowed || (complete && guarded)
            ? DeliveryFinding.Agrees : DeliveryFinding.Disproves,
            $"the device counted {received} of {all} samples{wraps}{also}{garbled}")
        {
            Expected = all,
            Seen = (long)Math.Min(received, long.MaxValue),
        };
    }

    private void Windows(List<DeliveryEvidence> to, List<DeliveryEvidence> from, bool completed)
    {
        if (_device.Says.Every is null && _device.StaleAfter is null) { return; }
        long? period = _device.Says.Every is { } every ? manifest.Rate.SamplesBefore(new(every.Ticks * 100)) : null;
        bool numbered = false;
        foreach (var output in _decided.Where(d => d.N is not null).GroupBy(d => d.Output))
        {
            if (WindowRhythm.Of([.. output.Select(d => (d.N!.Value, d.Class))], period) is not { } rhythm) { continue; }
            numbered = true;
            long lastDue = rhythm.First + (manifest.Samples - 1 - rhythm.First) / rhythm.Period * rhythm.Period;
            long atTheEnd = completed ? Math.Max(0, (lastDue - rhythm.Last) / rhythm.Period) : 0;
            string windows = $"windows of {rhythm.Period} samples: {rhythm.Reported} were heard";
            if (rhythm.Missing > 0)
            {
                from.Add(new("windows", DeliveryFinding.Disproves, $"{windows}, {rhythm.Missing} between them are missing"));
            }
            if (rhythm.Twice > 0)
            {
                from.Add(new("windows", DeliveryFinding.Disproves, $"{windows}, {rhythm.Twice} of them twice"));
            }
            if (rhythm.OutOfStep > 0)
            {
                to.Add(new("windows", DeliveryFinding.Disproves,
                    $"{windows}, {rhythm.OutOfStep} out of step: samples are missing between them"));
            }
            if (atTheEnd > 0)
            {
                var cut = new DeliveryEvidence("windows", DeliveryFinding.Disproves,
                    $"{windows}, the last {atTheEnd} that the samples fill are missing: the device counted up to sample {rhythm.Last} of {manifest.Samples - 1}, or they were lost on their way here");
                (_device.CountsSamples ? to : from).Add(cut);
            }
            if (rhythm.Missing + rhythm.OutOfStep + rhythm.Twice + atTheEnd > 0 || !completed) { continue; }
            // A period that is learnt from what was heard cannot know of what never was: every second window may be missing.
            bool said = period is not null;
            string learnt = said ? "" : " by the period that they show (device.says.every says it)";
            from.Add(new("windows", said && rhythm.First < rhythm.Period ? DeliveryFinding.Proves : DeliveryFinding.Agrees,
                $"{windows}, none is missing{(rhythm.First < rhythm.Period ? "" : " after the first that was heard")}{learnt}"));
            bool all = said && _device.CountsSamples && rhythm.Last == manifest.Samples - 1;
            to.Add(new("windows", all ? DeliveryFinding.Proves : DeliveryFinding.Agrees, all
                ? $"the device counted all {manifest.Samples} samples: its last window ends with the last of them"
                : $"{windows}, the last ends with sample {rhythm.Last} of {manifest.Samples - 1}"));
        }
        if (!numbered) { ByTime(from, period is { } samples ? manifest.Rate.TimeOf(samples).Ns : null); }
    }

    /// <summary>Windows without sample numbers: as many as fit between the first and the last must have come.</summary>
    private void ByTime(List<DeliveryEvidence> from, long? periodNs)
    {
        if (Speeds.Factor(manifest.Speed) is not { } speed) { return; }
        foreach (var output in _decided.GroupBy(d => d.Output))
        {
            HostTime[] at = [.. output.Select(d => d.At)];
            if (at.Length < WindowRhythm.Fewest) { continue; }
            long[] steps = [.. at.Zip(at.Skip(1), (a, b) => b - a).Order()];
            double step = periodNs is { } given ? given / (double)speed : steps[steps.Length / 2];
            if (step <= 0) { continue; }
            long fit = (long)Math.Round((at[^1] - at[0]) / step) + 1;
            from.Add(fit > at.Length
                ? new("windows", DeliveryFinding.Disproves,
                    FormattableString.Invariant(
                        $"a window every {step / 1e9:0.###} s: {at.Length} were heard where {fit} fit")) { Expected = fit,
                        Seen = at.Length }
                : new("windows", DeliveryFinding.Agrees,
                    FormattableString.Invariant(
                        $"a window every {step / 1e9:0.###} s: {at.Length} were heard, none is missing between the first and the last")));
        }
    }

    /// <summary>A device that counts what came is behind by as many samples as were lost, for good.</summary>
    /// <param name="whole">A complete count proves that all samples came.</param>
    private IEnumerable<DeliveryEvidence> Behind(bool whole)
    {
        if (!_device.CountsSamples || Speeds.Factor(manifest.Speed) is not { } speed) { yield break; }
        long[] behind = [.. _decided.Where(d => d.N is not null).Select(d => sent.At(d.At) - 1 - d.N!.Value)];
        if (behind.Length < FewestNumbered) { yield break; }
        int third = Math.Max(1, behind.Length / 3);
        long first = behind.Take(third).Max(), last = behind.TakeLast(third).Min();
        double allowed = Math.Max(2, BehindS * (double)speed * manifest.Rate.Hertz);
        if (last - first > allowed)
        {
            string fell = $"the device counts samples and fell behind: by {first} at most at the start, by {last} at least at the end";
            yield return new("n", whole ? DeliveryFinding.Agrees : DeliveryFinding.Disproves, whole
                ? $"{fell}; it takes them more slowly than they are played"
                : $"{fell}: samples were lost, or it takes them more slowly than they are played, which its own counters would tell");
        }
        else if (behind.Min() < -1)
        {
            yield return new(
                "n", DeliveryFinding.Disproves, $"the device counted {-behind.Min() - 1} samples more than had been sent");
        }
        else
        {
            yield return new("n", DeliveryFinding.Agrees, FormattableString.Invariant(
                $"the device counts samples and was behind by {last} at the end, by {Math.Max(0, last - first)} more than at the start; what lies within {BehindS} s may be on its way"));
        }
    }

    private IEnumerable<DeliveryEvidence> Sequence(bool completed)
    {
        if (_sequence.Heard == 0) { yield break; }
        if (_sequence.Missing > 0 || _sequence.Repeated > 0)
        {
            string repeated = _sequence.Repeated > 0 ? $", {_sequence.Repeated} came again" : "";
            yield return new("seq", DeliveryFinding.Disproves,
                $"by the device's own numbers {_sequence.Missing} of its messages are missing{repeated}")
            {
                Expected = _sequence.Heard + _sequence.Missing,
                Seen = _sequence.Heard,
            };
            yield break;
        }
        bool whole = completed && !_restarted && _sequence.FromTheStart && _answerNumbered && !_sequence.MayHideAWrap;
        yield return new("seq", whole ? DeliveryFinding.Proves : DeliveryFinding.Agrees, whole
            ? $"the device numbered {_sequence.Heard} messages, up to its answer after the end: none is missing"
            : $"the device numbered {_sequence.Heard} messages: none is missing between the first and the last of them"
                + (_sequence.MayHideAWrap ? ", unless as many as the numbers begin anew after" : ""))
        {
            Expected = _sequence.Heard,
            Seen = _sequence.Heard,
        };
    }

    /// <param name="counted">
    /// Complete counts prove both ways: unanswered questions then say only that the device does not answer.
    /// </param>
    private DeliveryEvidence? Questions(QuestionLog questions, HostTime? silentSince, bool counted)
    {
        var (asked, answered) = questions.Before(silentSince);
        if (answered == 0) { return null; }
        double low = BinomialBounds.Lower(asked - answered, asked, QuestionLog.Confidence)!.Value;
        double high = BinomialBounds.Upper(asked - answered, asked, QuestionLog.Confidence)!.Value;
        bool disproves = !counted && low > rig.Health.LostShare;
        string text = disproves
            ? FormattableString.Invariant(
                $"{asked - answered} of {asked} questions were not answered: at least {100 * low:0.0} % are lost")
                + FormattableString.Invariant(
                    $" (limit {100 * rig.Health.LostShare:0.##} %); if the device answers none while it is fed, set clock.every: 0 s")
            : FormattableString.Invariant(
                $"{answered} of {asked} questions were answered: at most {Math.Ceiling(1000 * high) / 10:0.0} % are lost")
                + ", which proves nothing of the others";
        return new("questions", disproves ? DeliveryFinding.Disproves : DeliveryFinding.Agrees,
            text) { Expected = asked, Seen = answered };
    }

    private string Advice(DeliveryOutcome to, DeliveryOutcome from)
    {
        if (to == DeliveryOutcome.NotDelivered || from == DeliveryOutcome.NotDelivered) { return ""; }
        bool needsTo = to == DeliveryOutcome.NotShown, needsFrom = from == DeliveryOutcome.NotShown;
        string names = (needsTo, needsFrom) switch { (true, true) => "received and said", (true, _) => "received", _ => "said" };
        string counters =
            $"describe the device's own counters in the rig file: device.says.counters: {{ask: …, answer: …}} with {names}";
        bool credits = needsTo && _device.Says.Credit is not null && !_device.CountsSamples;
        return credits ? $"{counters}; or, where its credit counts what came, device.says.n: counted" : counters;
    }
}
