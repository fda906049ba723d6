using System.Globalization;
using HilRunner.Core.Files;
using HilRunner.Core.Time;

namespace HilRunner.Core.Capture;

public enum CaptureKind { FromDevice, ToDevice, Event }

/// <summary>Append-only record of a run: every byte in both directions, and what happened. Safe from several threads.</summary>
public interface ICaptureWriter : IDisposable
{
    /// <exception cref="IOException">The capture could not be written: the run must end.</exception>
    void Bytes(CaptureKind direction, HostTime at, ReadOnlySpan<byte> bytes);

    /// <summary>A run event: a word from <see cref="RunEventNames"/> and key=value details.</summary>
    void Event(HostTime at, string name, params ReadOnlySpan<(string Key, string Value)> details);

    /// <summary>Hands everything to the operating system: after this a killed process loses nothing of it.</summary>
    void Flush();
}

/// <param name="At">Stamp, on the clock of the process that wrote the capture.</param>
/// <param name="Bytes">For bytes: valid until the next record is read.</param>
public readonly record struct CaptureRecord(CaptureKind Kind, HostTime At, ReadOnlyMemory<byte> Bytes, RunEvent? Event);

public sealed record RunEvent(string Name, IReadOnlyDictionary<string, string> Details)
{
    /// <summary>
    /// Start of the year 2200: what is later in a capture is damage. Sums and differences of times up to here fit.
    /// </summary>
    public const long LatestUnixNs = 7_258_118_400_000_000_000;

    /// <summary>A detail that is a whole number.</summary>
    /// <param name="capture">Where the event was read last.</param>
    /// <exception cref="BadInputException">It is none, or out of range.</exception>
    public long Whole(string key, ICaptureReader capture, long least = 0, long most = long.MaxValue)
    {
        string text = Details.GetValueOrDefault(key, "");
        return long.TryParse(text, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out long value)
            && value >= least && value <= most
            ? value
            : throw capture.Damaged(
                $"event {FoundText.Show(Name)} with {key} {FoundText.Show(text)}", $"a whole number from {least} to {most}");
    }

    /// <summary>A detail that is a moment near the event's own.</summary>
    /// <exception cref="BadInputException">It is none, or more than a day away.</exception>
    public HostTime Moment(string key, HostTime at, ICaptureReader capture) =>
        new(Whole(key, capture, Math.Max(0, at.Ns - NearNs), at.Ns + NearNs));

    private const long NearNs = 86_400_000_000_000;
}

/// <summary>
/// Reads a capture from its start, also while it is being written: <see cref="TryRead"/> returns false at the last whole
/// record there is so far and may be called again later. Host times are nanoseconds since the Unix epoch here.
/// </summary>
public interface ICaptureReader : IDisposable
{
    bool TryRead(out CaptureRecord record);
    /// <summary>True when the file ends inside a record (a killed writer), judged at the last failed <see cref="TryRead"/>.</summary>
    bool EndsInMidRecord { get; }
    /// <summary>To be thrown where what the last record says cannot be: with its place in bytes.</summary>
    BadInputException Damaged(string found, string expected);
}

public interface ICaptureStore
{
    ICaptureWriter Create(string path, HostClock clock);
    ICaptureReader Open(string path);
    /// <summary>SHA-256 of the bytes of all its files, one after the other: 64 lowercase hexadecimal digits.</summary>
    string Sha256(string path);
}

/// <summary>The events a player writes into the capture.</summary>
public static class RunEventNames
{
    /// <summary>link=NAME</summary>
    public const string Opened = "opened";
    /// <summary>
    /// A step of the conversation before and after playout: step=opened|wake|reset|identity|clock|counters|begin|stream|end; of a
    /// silent device: ask (once more, as it is) and revive (a reset follows: what is said from here on is none of the run). Of a
    /// clock question: when=before|during|after, midrun=true where the device should answer it although samples are played.
    /// </summary>
    public const string Step = "step";
    /// <summary>Sample 0 of the stimulus: due_unix_ns=…, the origin of stimulus time.</summary>
    public const string Origin = "origin";
    /// <summary>
    /// At the end of playout on a schedule, or of listening: stamp_ns=…, how late the host stamps an arrival at most, in 99.5 % of cases;
    /// credit_waits=…, credit_wait_ns=…, how often and how long in all a due sample waited for credit.
    /// </summary>
    public const string Paced = "paced";
    /// <summary>cause=LinkFault, message=…</summary>
    public const string LinkLost = "link_lost";
    /// <summary>The device gave no credit for the stated time: sent=…, consumed=…</summary>
    public const string CreditStarved = "credit_starved";
    /// <summary>The device said nothing for the stated time.</summary>
    public const string Silent = "silent";
    /// <summary>
    /// A silent device was asked again on the link that was open all the time: by=waiting|reset|power cycle|…,
    /// answered=true|false.
    /// </summary>
    public const string Revival = "revival";
    /// <summary>cause=completed|credit_starved|link_lost|stopped|parent_gone|… sent=…</summary>
    public const string Ended = "ended";
}
