namespace HilRunner.Engine.Reviewing;

/// <summary>
/// The device's own numbers of its messages: a number that is left out is a message that was lost on its way here.
/// </summary>
internal sealed class SequenceCheck
{
    private ulong? _last;
    private bool _whole;
    private long _sentAtLast;

    /// <summary>Messages with a number that were heard since begin.</summary>
    public long Heard { get; private set; }

    /// <summary>Numbers that were left out.</summary>
    public long Missing { get; private set; }

    /// <summary>Numbers that came again, or went back without a wrap.</summary>
    public long Repeated { get; private set; }

    /// <summary>
    /// No message between begin and the last numbered one can be missing unseen: one before begin was numbered too, or the first
    /// was 0.
    /// </summary>
    public bool FromTheStart => _whole;

    /// <summary>
    /// Between two of them as many samples were sent as the numbers begin anew after: a device that says one message a sample at
    /// most may have said just as many that were lost. Numbers of <see cref="CountedRun.BelievedBits"/> and more are believed.
    /// </summary>
    public bool MayHideAWrap { get; private set; }

    /// <param name="sent">Samples that had been sent when it came.</param>
    public void OnMessage(ulong seq, ulong wraps, bool begun, long sent)
    {
        MayHideAWrap |= begun && wraps is > 0 and < 1UL << CountedRun.BelievedBits && sent - _sentAtLast >= (long)wraps;
        _sentAtLast = sent;
        if (begun && Heard == 0) { _whole = _last is not null || seq == 0; }
        if (_last is { } last && begun)
        {
            ulong gone = wraps == 0 ? seq - last : (seq + wraps - last % wraps) % wraps;
            if (wraps == 0 && seq <= last || gone == 0) { Repeated++; }
            else { Missing += (long)Math.Min(gone - 1, long.MaxValue / 4); }
        }
        _last = seq;
        if (begun) { Heard++; }
    }

    /// <summary>The device started anew: its numbers begin anew.</summary>
    public void Restart() => _last = null;
}
