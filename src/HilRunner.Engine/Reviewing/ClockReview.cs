using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Engine.Clocks;

namespace HilRunner.Engine.Reviewing;

/// <summary>
/// Gathers questions and answers about the device's clock. Each start of the device begins a new epoch, and so does a clock that
/// stands where it cannot have run to: nothing that was known of the old one holds for the new one.
/// </summary>
internal sealed class ClockReview
{
    /// <summary>A clock that ran this much faster or slower than the host's since an earlier answer began anew.</summary>
    private const double LargestRateError = 0.1;
    /// <summary>Clocks of fewer bits wrap too often to be told from jumping ones.</summary>
    private const int FewestBits = 32;

    /// <summary>
    /// Two answers that agree show a running clock, where no check sum guards them, if the time between them is known to this
    /// factor: two that lack the same digit show a tenth of it.
    /// </summary>
    private const double LargestFactor = 4;
    /// <summary>
    /// An answer is compared with so many before it: a clock that stood still while one answer was on its way agrees with that
    /// one alone.
    /// </summary>
    private const int MostCompared = 32;

    private readonly ClockQuery? _query;
    private readonly bool _guarded;
    private readonly List<List<ClockExchange>> _epochs = [[]];
    private readonly Dictionary<int, ClockMap?> _maps = [];
    private TickUnwrapper? _ticks;
    private (Answer Answer, ClockBreak Break)? _doubted;

    /// <param name="query">How it is asked; null: it has no clock.</param>
    /// <param name="guarded">
    /// A check sum guards what the device says: one answer is enough to believe that its clock began anew.
    /// </param>
    public ClockReview(ClockQuery? query, bool guarded)
    {
        _query = query;
        _guarded = guarded;
        NewUnwrapper();
    }

    public QuestionLog Questions { get; } = new();

    public int Epoch => _epochs.Count - 1;

    public int Answers => _epochs.Sum(e => e.Count);

    public int Unanswered => Questions.Asked - Questions.Answered;

    /// <summary>
    /// Answers that no running clock can have given, and that the next answer did not confirm: garbled on their way.
    /// </summary>
    public int Garbled { get; private set; }

    /// <summary>
    /// The last answer stands where the clock cannot have run to, and no other came after it: a reset, or a garbled answer.
    /// </summary>
    public bool EndsInDoubt => _doubted is not null;

    /// <summary>The epoch with the most answers: what is known of the clock's rate is known from there.</summary>
    public int LongestEpoch => _epochs.IndexOf(_epochs.MaxBy(e => e.Count)!);

    public IEnumerable<ClockMap> Maps => Enumerable.Range(0, _epochs.Count).Select(MapOf).OfType<ClockMap>();

    /// <summary>The exchanges of all epochs, in the order in which they were answered.</summary>
    public IEnumerable<ClockExchange> Exchanges => _epochs.SelectMany(e => e);

    public void OnAsked(ulong token, HostTime sent, bool midRun) => Questions.Ask(token, sent, midRun);

    /// <summary>An answer; one to no question is passed over.</summary>
    /// <returns>
    /// What happened to the clock since the last answer, where that is past the beginning of the run; null: it ran on. Without a
    /// check sum a later answer must agree, since a garbled answer looks the same; and one answer alone, which may itself have
    /// been garbled, is no clock that a later one could have left.
    /// </returns>
    /// <param name="begun">The run had begun when it came: what happened before is not of the run.</param>
    public ClockBreak? OnAnswer(ulong token, ulong ticks, HostTime firstByte, bool begun)
    {
        if (_ticks is null || Questions.Answer(token, firstByte) is not { } sent) { return null; }
        var answer = new Answer(sent, ticks, firstByte);
        var epoch = _epochs[^1];
        if (BreakAt(epoch, new(sent, _ticks.Peek(ticks, firstByte), firstByte), ticks, begun) is not { } now)
        {
            if (_doubted is not null) { Garbled++; }
            _doubted = null;
            Add(answer);
            return null;
        }
        if (!_guarded)
        {
            if (!(_doubted is { } doubted && Follows(doubted.Answer, answer)))
            {
                if (_doubted is not null) { Garbled++; }
                _doubted = (answer, now);
                return null;
            }
            // Asked again too soon to say more than the first: the doubt stays until a later one.
            if (!IsTelling(doubted.Answer.Sent, doubted.Answer.Received, sent, firstByte)) { return null; }
        }
        var first = _doubted;
        ClockBreak happened = first?.Break ?? now;
        // Those after the one that it disagrees with may have been given by either clock.
        epoch.RemoveRange(happened.Kept, epoch.Count - happened.Kept);
        bool known = _guarded
            || epoch.Count > 1 && IsTelling(epoch[0].Sent, epoch[0].Received, epoch[^1].Sent, epoch[^1].Received);
        if (!known) { Garbled += epoch.Count; }
        Restart();
        if (first is { } began) { Add(began.Answer); }
        Add(answer);
        return known && happened.InRun ? happened : null;
    }

    /// <summary>A stamp of the running epoch, unwrapped; null where the device has no clock to ask.</summary>
    public DeviceTime? Stamp(ulong? ticks, HostTime firstByte) =>
        ticks is { } value && _ticks is not null ? _ticks.Unwrap(value, firstByte) : null;

    /// <summary>The device started anew.</summary>
    public void Restart()
    {
        _doubted = null;
        _epochs.Add([]);
        NewUnwrapper();
    }

    /// <summary>Null where no answer was seen in that epoch.</summary>
    public ClockMap? MapOf(int epoch)
    {
        if (_query is null) { return null; }
        if (!_maps.TryGetValue(epoch, out ClockMap? map)) { _maps[epoch] = map = ClockMap.Fit(_epochs[epoch], _query.TickNs, _query.TolerancePpm); }
        return map;
    }

    private void Add(in Answer answer) =>
        _epochs[^1].Add(new(answer.Sent, _ticks!.Unwrap(answer.Ticks, answer.Received), answer.Received));

    /// <summary>
    /// What happened to the clock before an answer, by the latest of the answers before it from which it cannot have run on;
    /// null: from each of them it can. Clocks of few bits wrap too often to say more. One that went on, but by too little, stood
    /// still meanwhile, unless it can have begun at 0 since: it is no reset.
    /// </summary>
    /// <param name="epoch">The answers before it.</param>
    private ClockBreak? BreakAt(List<ClockExchange> epoch, ClockExchange answer, ulong ticks, bool begun)
    {
        if (_query!.Bits < FewestBits) { return null; }
        for (int i = epoch.Count - 1; i >= Math.Max(0, epoch.Count - MostCompared); i--)
        {
            double gone = answer.Device.Ns - epoch[i].Device.Ns;
            var (atLeast, atMost) = Between(epoch[i].Sent, epoch[i].Received, answer.Sent, answer.Received);
            if (gone >= atLeast && gone <= atMost) { continue; }
            bool stood = gone >= 0 && gone < atLeast && ticks * _query.TickNs > atMost;
            return new(begun, i + 1, epoch[i].Received, stood ? (answer.Received - epoch[i].Received) - gone : null);
        }
        return null;
    }

    /// <summary>How far a running clock went from one answer to another, ns.</summary>
    private (double AtLeast, double AtMost) Between(
        HostTime firstSent, HostTime firstReceived, HostTime sent, HostTime received) =>
        (Math.Max(0, sent - firstReceived) * (1 - LargestRateError) - _query!.TickNs,
            (received - firstSent) * (1 + LargestRateError) + _query.TickNs);

    private bool IsTelling(HostTime firstSent, HostTime firstReceived, HostTime sent, HostTime received)
    {
        var (atLeast, atMost) = Between(firstSent, firstReceived, sent, received);
        return atMost <= LargestFactor * atLeast;
    }

    private bool Follows(in Answer doubted, in Answer answer)
    {
        var anew = new TickUnwrapper(_query!.Bits, _query.TickNs);
        var first = new ClockExchange(doubted.Sent, anew.Unwrap(doubted.Ticks, doubted.Received), doubted.Received);
        var next = new ClockExchange(answer.Sent, anew.Unwrap(answer.Ticks, answer.Received), answer.Received);
        return BreakAt([first], next, answer.Ticks, true) is null;
    }

    private void NewUnwrapper() => _ticks = _query is null ? null : new(_query.Bits, _query.TickNs);

    private readonly record struct Answer(HostTime Sent, ulong Ticks, HostTime Received);
}

/// <summary>An answer that stands where the clock cannot have run to since an earlier one.</summary>
/// <param name="InRun">The run had begun when it came.</param>
/// <param name="Kept">So many answers of the epoch were given before it happened.</param>
/// <param name="After">When the last of these arrived: the clock was left as it was until then at least.</param>
/// <param name="StoodNs">For about so long it stood still, ns; null: it began anew, at whatever value.</param>
internal readonly record struct ClockBreak(bool InRun, int Kept, HostTime After, double? StoodNs);
