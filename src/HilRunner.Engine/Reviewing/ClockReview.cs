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
    /// <summary>A clock that ran this much faster or slower than the host's since the last answer began anew.</summary>
    private const double LargestRateError = 0.1;
    /// <summary>Clocks of fewer bits wrap too often to be told from jumping ones.</summary>
    private const int FewestBits = 32;

    /// <summary>Answers that agree with each other before a clock counts as known, where no check sum guards them.</summary>
    private const int FewestOfAClock = 2;

    private readonly ClockQuery? _query;
    private readonly bool _guarded;
    private readonly List<List<ClockExchange>> _epochs = [[]];
    private readonly Dictionary<int, ClockMap?> _maps = [];
    private TickUnwrapper? _ticks;
    private (HostTime Sent, ulong Ticks, HostTime Received, ClockBreak Break)? _doubted;

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

    /// <summary>When the last answer of this epoch arrived; null: none did.</summary>
    public HostTime? LastAnswer => _epochs[^1].Count == 0 ? null : _epochs[^1][^1].Received;

    public IEnumerable<ClockMap> Maps => Enumerable.Range(0, _epochs.Count).Select(MapOf).OfType<ClockMap>();

    /// <summary>The exchanges of all epochs, in the order in which they were answered.</summary>
    public IEnumerable<ClockExchange> Exchanges => _epochs.SelectMany(e => e);

    public void OnAsked(ulong token, HostTime sent, bool midRun) => Questions.Ask(token, sent, midRun);

    /// <summary>An answer; one to no question is passed over.</summary>
    /// <returns>
    /// What happened to the clock since the last answer, where that is past the beginning of the run; null: it ran on. Without a
    /// check sum the next answer must agree, since a garbled answer looks the same; and one answer alone, which may itself have
    /// been garbled, is no clock that a later one could have left.
    /// </returns>
    /// <param name="begun">The run had begun when it came: what happened before is not of the run.</param>
    public ClockBreak? OnAnswer(ulong token, ulong ticks, HostTime firstByte, bool begun)
    {
        if (_ticks is null || Questions.Answer(token, firstByte) is not { } sent) { return null; }
        if (BreakAt(_epochs[^1].Count == 0 ? null : _epochs[^1][^1],
            sent, _ticks.Peek(ticks, firstByte), firstByte, ticks, begun) is not { } now)
        {
            if (_doubted is not null) { Garbled++; }
            _doubted = null;
            _epochs[^1].Add(new(sent, _ticks.Unwrap(ticks, firstByte), firstByte));
            return null;
        }
        if (!_guarded
            && !(_doubted is { } doubted
                && FollowsDoubted(doubted.Sent, doubted.Ticks, doubted.Received, sent, ticks, firstByte)))
        {
            if (_doubted is not null) { Garbled++; }
            _doubted = (sent, ticks, firstByte, now);
            return null;
        }
        var first = _doubted;
        bool known = _guarded || _epochs[^1].Count >= FewestOfAClock;
        if (!known) { Garbled += _epochs[^1].Count; }
        Restart();
        if (first is { } began) { _epochs[^1].Add(new(began.Sent, _ticks.Unwrap(began.Ticks, began.Received), began.Received)); }
        _epochs[^1].Add(new(sent, _ticks.Unwrap(ticks, firstByte), firstByte));
        ClockBreak happened = first?.Break ?? now;
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

    /// <summary>
    /// What happened to the clock between two answers; null: it can have run from one to the other. Clocks of few bits wrap too
    /// often to say more. One that went on, but by too little, stood still meanwhile, unless it can have begun at 0 since: it is
    /// no reset.
    /// </summary>
    private ClockBreak? BreakAt(
        ClockExchange? before, HostTime sent, DeviceTime device, HostTime received, ulong ticks, bool begun)
    {
        if (_query!.Bits < FewestBits || before is not { } last) { return null; }
        double gone = device.Ns - last.Device.Ns;
        double atLeast = Math.Max(0, sent - last.Received) * (1 - LargestRateError) - _query.TickNs;
        double atMost = (received - last.Sent) * (1 + LargestRateError) + _query.TickNs;
        if (gone >= atLeast && gone <= atMost) { return null; }
        bool stood = gone >= 0 && gone < atLeast && ticks * _query.TickNs > atMost;
        return new(begun, stood ? (received - last.Received) - gone : null);
    }

    private bool FollowsDoubted(
        HostTime doubtedSent, ulong doubtedTicks, HostTime doubtedReceived, HostTime sent, ulong ticks, HostTime received)
    {
        var anew = new TickUnwrapper(_query!.Bits, _query.TickNs);
        var first = new ClockExchange(doubtedSent, anew.Unwrap(doubtedTicks, doubtedReceived), doubtedReceived);
        return BreakAt(first, sent, anew.Unwrap(ticks, received), received, ticks, true) is null;
    }

    private void NewUnwrapper() => _ticks = _query is null ? null : new(_query.Bits, _query.TickNs);
}

/// <summary>An answer that stands where the clock cannot have run to since the last one.</summary>
/// <param name="InRun">The run had begun when it came.</param>
/// <param name="StoodNs">For about so long it stood still, ns; null: it began anew, at whatever value.</param>
internal readonly record struct ClockBreak(bool InRun, double? StoodNs);
