using HilRunner.Core.Rigs;
using System.Globalization;
using System.Text;
using HilRunner.Core.Messages;

namespace HilRunner.Transport.Decoding;

/// <summary>A line of text, described by a pattern with named groups. A group that should be a number and is none makes the line unknown.</summary>
internal sealed class TextMessageFormat : MessageFormat
{
    private readonly TextPattern _pattern;
    private readonly MessageRole _role;
    private readonly int[] _slots;
    private readonly int _class, _n, _ticks, _confidence, _token, _seq;
    private readonly string _number;
    private readonly long _nWraps;
    private readonly ulong _seqWraps;
    private readonly int[] _valuesAt;
    private readonly double[] _values;

    public TextMessageFormat(TextPattern pattern, MessageRole role)
    {
        role.Check(pattern.Groups);
        (_pattern, _role) = (pattern, role);
        _slots = new int[2 * pattern.Groups.Count];
        _class = pattern.Groups.IndexOf("class");
        _n = pattern.Groups.FindIndex(Numbering.Names.Contains);
        _number = _n < 0 ? "n" : pattern.Groups[_n];
        _nWraps = role.Numbers.SamplesUntilWrap(_number);
        _seq = pattern.Groups.IndexOf("seq");
        _seqWraps = role.Numbers.WrapsOf("seq");
        _ticks = pattern.Groups.FindIndex(MessageRole.TickNames.Contains);
        _confidence = pattern.Groups.FindIndex(MessageRole.ConfidenceNames.Contains);
        _token = pattern.Groups.IndexOf("token");
        _valuesAt = [.. role.Values.Select(name => pattern.Groups.IndexOf(name))];
        _values = new double[_valuesAt.Length];
    }

    public override int Decode(ReadOnlySpan<byte> body, in FrameStamp stamp, IMessageSink sink)
    {
        if (!_pattern.TryMatch(body, _slots)) { return 0; }
        if (_role.Kind == MessageKind.Ignored) { return 1; }
        if (_role.SaysWords)
        {
            if (!TryUnsigned(body, _seq, out ulong? said)) { return 0; }
            sink.OnMessage(new()
            {
                Kind = _role.Kind, Fields = Words(body), Seq = said, SeqWraps = _seqWraps,
                    FirstByte = stamp.FirstByte, LastByte = stamp.LastByte, WireLength = stamp.WireLength,
            });
            return 1;
        }
        if (!TryInteger(body, _n, out long? n) || !TryUnsigned(body, _ticks, out ulong? ticks)
            || !TryUnsigned(body, _token, out ulong? token) || !TryUnsigned(body, _seq, out ulong? seq)
            || !TryNumber(body, _confidence, out double? confidence)
            || !TryClass(body, out string? name, out string? unknown) || !TryValues(body))
        {
            return 0;
        }
        sink.OnMessage(new()
        {
            Kind = _role.Kind,
            Output = _role.Output,
            Class = name,
            UnknownClass = unknown,
            N = n is { } number ? _role.Numbers.SampleOf(_number, number) : null,
            NWraps = _nWraps,
            Seq = seq,
            SeqWraps = _seqWraps,
            Ticks = ticks,
            Confidence = confidence,
            Token = token,
            Values = _values,
            FirstByte = stamp.FirstByte,
            LastByte = stamp.LastByte,
            WireLength = stamp.WireLength,
        });
        return 1;
    }

    private bool TryGroup(ReadOnlySpan<byte> body, int group, out ReadOnlySpan<byte> text)
    {
        text = default;
        if (group < 0 || _slots[2 * group] < 0) { return false; }
        text = body[_slots[2 * group].._slots[2 * group + 1]];
        return true;
    }

    private bool TryClass(ReadOnlySpan<byte> body, out string? name, out string? unknown)
    {
        name = unknown = null;
        if (_role.Classes is null) { return true; }
        if (!TryGroup(body, _class, out ReadOnlySpan<byte> text) || !_role.Classes.TryName(text, out ClassName found))
        {
            return false;
        }
        (name, unknown) = found;
        return true;
    }

    private bool TryValues(ReadOnlySpan<byte> body)
    {
        for (int i = 0; i < _valuesAt.Length; i++)
        {
            if (!TryNumber(body, _valuesAt[i], out double? value) || value is null) { return false; }
            _values[i] = value.Value;
        }
        return true;
    }

    /// <summary>A group that took no part is no number and no fault.</summary>
    private bool TryInteger(ReadOnlySpan<byte> body, int group, out long? value)
    {
        value = null;
        if (!TryGroup(body, group, out ReadOnlySpan<byte> text)) { return true; }
        if (!long.TryParse(text, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out long parsed)) { return false; }
        value = parsed;
        return true;
    }

    private bool TryUnsigned(ReadOnlySpan<byte> body, int group, out ulong? value)
    {
        value = null;
        if (!TryGroup(body, group, out ReadOnlySpan<byte> text)) { return true; }
        if (!ulong.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out ulong parsed)) { return false; }
        value = parsed;
        return true;
    }

    private bool TryNumber(ReadOnlySpan<byte> body, int group, out double? value)
    {
        value = null;
        if (!TryGroup(body, group, out ReadOnlySpan<byte> text)) { return true; }
        if (!double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double parsed)) { return false; }
        // What is no number (NaN) is said, but is no value.
        value = double.IsFinite(parsed) ? parsed : null;
        return true;
    }

    private Dictionary<string, string> Words(ReadOnlySpan<byte> body)
    {
        var words = new Dictionary<string, string>(StringComparer.Ordinal);
        for (int i = 0; i < _pattern.Groups.Count; i++)
        {
            if (TryGroup(body, i, out ReadOnlySpan<byte> text)) { words[_pattern.Groups[i]] = Encoding.UTF8.GetString(text); }
        }
        return words;
    }
}
