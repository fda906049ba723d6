using System.Buffers.Text;
using System.Text;

namespace HilRunner.Device.Protocols;

/// <summary>One message a line, ASCII, fields parted by one blank; lines end in \n, and \r before it is dropped.</summary>
/// <param name="features">Most values of a message of features.</param>
internal sealed class LinesProtocol(DeviceIdentity identity, int channels, int features) : IDeviceProtocol
{
    /// <summary>Longest line that is heard, without its end.</summary>
    public const int MaxLine = 256;

    private static readonly string[] RefusalWords = ["", "unknown", "malformed", "checksum", "rate", "order", "too_long"];

    private readonly byte[] _line = new byte[MaxLine];
    private readonly int[] _counts = new int[channels];
    private int _length;
    private bool _tooLong;

    public int MaxLength { get; } = 160 + identity.Product.Length + identity.Version.Length + (identity.Image?.Length ?? 0)
        + identity.Classes.Max(c => c.Length) + 12 * features;

    public void Feed(ReadOnlySpan<byte> bytes, IDeviceEars ears)
    {
        foreach (byte value in bytes)
        {
            if (value != '\n')
            {
                if (_length < MaxLine) { _line[_length++] = value; }
                else { _tooLong = true; }
                continue;
            }
            ReadOnlySpan<byte> line = _line.AsSpan(0, _length);
            bool tooLong = _tooLong;
            Forget();
            if (tooLong) { ears.OnRefused(Refusal.TooLong); }
            else { Hear(line.TrimEnd((byte)'\r'), ears); }
            if (!ears.Listening) { return; }
        }
    }

    private void Forget()
    {
        _length = 0;
        _tooLong = false;
    }

    public int Encode(in DeviceSaying saying, Span<byte> message)
    {
        if (saying.Kind == SayingKind.Measured) { return EncodeNumbers("d "u8, saying, message); }
        if (saying.Kind == SayingKind.Features) { return EncodeNumbers("f "u8, saying, message); }
        FormattableString text = saying.Kind switch
        {
            SayingKind.Boot => $"boot {identity.Version}\n",
            SayingKind.Decision => $"c {saying.N} {identity.Classes[saying.Class]} {saying.Microseconds} {saying.PerMille / 1000}.{saying.PerMille % 1000:000}\n",
            SayingKind.NoDecision => $"st none\n",
            SayingKind.Credit => $"k {saying.N}\n",
            SayingKind.Identity => $"id {identity.Product} {identity.Version}{(identity.Image is null ? "" : " " + identity.Image)}\n",
            SayingKind.Counters =>
                $"ct {saying.Counters.Received} {saying.Counters.Refused} {saying.Counters.Said} {saying.Counters.Dropped}\n",
            SayingKind.Clock => $"t {saying.Token} {saying.Microseconds}\n",
            _ => $"e {(int)saying.Why} {RefusalWords[(int)saying.Why]}\n",
        };
        return Encoding.ASCII.GetBytes(FormattableString.Invariant(text), message);
    }

    private static int EncodeNumbers(ReadOnlySpan<byte> word, in DeviceSaying saying, Span<byte> message)
    {
        word.CopyTo(message);
        int used = 2;
        Number(saying.N, message);
        foreach (int count in saying.Counts.Span)
        {
            message[used++] = (byte)' ';
            Number(count, message);
        }
        message[used++] = (byte)'\n';
        return used;

        void Number(long value, Span<byte> into)
        {
            Utf8Formatter.TryFormat(value, into[used..], out int written);
            used += written;
        }
    }

    private void Hear(ReadOnlySpan<byte> line, IDeviceEars ears)
    {
        if (line.IsEmpty) { return; }
        int blank = line.IndexOf((byte)' ');
        ReadOnlySpan<byte> word = blank < 0 ? line : line[..blank];
        ReadOnlySpan<byte> rest = blank < 0 ? [] : line[blank..];
        if (word.SequenceEqual("s"u8)) { HearSample(rest, ears); }
        else if (word.SequenceEqual("begin"u8)) { HearNumber(rest, ears, static (ears, rate) => ears.OnBegin(rate)); }
        else if (word.SequenceEqual("t"u8)) { HearNumber(rest, ears, static (ears, token) => ears.OnClock(token)); }
        else if (word.SequenceEqual("stream"u8)) { HearStream(rest, ears); }
        else if (word.SequenceEqual("end"u8) && rest.IsEmpty) { ears.OnEnd(); }
        else if (word.SequenceEqual("id"u8) && rest.IsEmpty) { ears.OnIdentity(); }
        else if (word.SequenceEqual("st"u8) && rest.IsEmpty) { ears.OnStatus(); }
        else if (word.SequenceEqual("ct"u8) && rest.IsEmpty) { ears.OnCounters(); }
        else if (word.SequenceEqual("reset"u8) && rest.IsEmpty) { ears.OnReset(); }
        else { ears.OnRefused(Refusal.Unknown); }
    }

    private void HearSample(ReadOnlySpan<byte> rest, IDeviceEars ears)
    {
        bool good = Take(ref rest, out long n) && n is >= 0 and <= uint.MaxValue;
        for (int i = 0; i < _counts.Length && good; i++)
        {
            good = Take(ref rest, out long count) && count is >= -32768 and <= 32767;
            _counts[i] = (int)count;
        }
        if (good && rest.IsEmpty) { ears.OnSample(n, _counts); }
        else { ears.OnRefused(Refusal.Malformed); }
    }

    private static void HearStream(ReadOnlySpan<byte> rest, IDeviceEars ears)
    {
        bool on = rest.SequenceEqual(" on"u8);
        if (on || rest.SequenceEqual(" off"u8)) { ears.OnStream(on); }
        else { ears.OnRefused(Refusal.Malformed); }
    }

    private static void HearNumber(ReadOnlySpan<byte> rest, IDeviceEars ears, Action<IDeviceEars, uint> heard)
    {
        if (Take(ref rest, out long value) && value is >= 0 and <= uint.MaxValue && rest.IsEmpty) { heard(ears, (uint)value); }
        else { ears.OnRefused(Refusal.Malformed); }
    }

    /// <summary>One blank and one whole number.</summary>
    private static bool Take(ref ReadOnlySpan<byte> rest, out long value)
    {
        value = 0;
        if (rest.Length < 2 || rest[0] != ' ' || rest[1] == '+' || !Utf8Parser.TryParse(rest[1..], out value, out int used)) { return false; }
        rest = rest[(1 + used)..];
        return true;
    }
}
