namespace HilRunner.Device.Protocols;

/// <summary>A format in which the virtual device hears and speaks. README.md of this room describes each for firmware engineers.</summary>
internal interface IDeviceProtocol
{
    /// <summary>Longest message that <see cref="Encode"/> makes, in bytes.</summary>
    int MaxLength { get; }

    /// <summary>Takes bytes as they come, in pieces of any size; calls <paramref name="ears"/> for every message and
    /// for every fault. What follows the message after which the device no longer listens is left out.</summary>
    void Feed(ReadOnlySpan<byte> bytes, IDeviceEars ears);

    /// <summary>One message with its delimiter.</summary>
    int Encode(in DeviceSaying saying, Span<byte> message);
}

/// <summary>What the device understands.</summary>
internal interface IDeviceEars
{
    /// <summary>False once the device has stopped to listen (hung, unplugged).</summary>
    bool Listening { get; }
    void OnBegin(long rateMilliHertz);
    void OnSample(long n, ReadOnlySpan<int> counts);
    void OnEnd();
    void OnStream(bool on);
    void OnIdentity();
    void OnClock(uint token);
    void OnStatus();
    void OnCounters();
    void OnReset();
    void OnRefused(Refusal why);
}

/// <summary>Why a message was refused; the number is the code that is sent.</summary>
internal enum Refusal { Unknown = 1, Malformed = 2, CheckSum = 3, Rate = 4, Order = 5, TooLong = 6 }

internal enum SayingKind { Boot, Decision, NoDecision, Credit, Identity, Clock, Refusal, Measured, Features, Counters }

/// <summary>One thing the device says, before it is put into bytes.</summary>
internal readonly record struct DeviceSaying(SayingKind Kind)
{
    public long N { get; init; }
    /// <summary>Class code.</summary>
    public int Class { get; init; }
    public int PerMille { get; init; }
    public uint Microseconds { get; init; }
    public uint Token { get; init; }
    public Refusal Why { get; init; }
    /// <summary>Of counters: samples taken and messages refused; messages said, and those that were not.</summary>
    public (uint Received, uint Refused, uint Said, uint Dropped) Counters { get; init; }
    /// <summary>What the host did not ask for is counted, so that it can see whether all of it arrived.</summary>
    public bool IsCounted => Kind is SayingKind.Decision or SayingKind.Credit or SayingKind.Measured or SayingKind.Features;
    /// <summary>One for each channel, or for each feature. The firmware's own buffer: put into bytes at once.</summary>
    public ReadOnlyMemory<int> Counts { get; init; }
}

/// <summary>What the device answers when it is asked who it is.</summary>
/// <param name="Product">Without blanks.</param>
/// <param name="Image">Lower-case hexadecimal; null: not told.</param>
internal sealed record DeviceIdentity(string Product, string Version, string? Image, IReadOnlyList<string> Classes);
