using System.Buffers;
using System.Globalization;
using System.Text;

namespace HilRunner.Transport.Decoding;

/// <summary>
/// Text with placeholders in braces; the part in [[ ]] is repeated for each sample. {{ and }} are braces themselves.
/// </summary>
internal sealed class TemplateEncoder : MessageEncoder
{
    /// <summary>Text, or a placeholder where there is a source.</summary>
    private readonly record struct Piece(byte[] Text, OutgoingSource? Source);

    private readonly Piece[] _before, _repeated, _after;

    public TemplateEncoder(string template, OutgoingScope scope)
    {
        int open = template.IndexOf("[[", StringComparison.Ordinal);
        int close = template.IndexOf("]]", StringComparison.Ordinal);
        if (open < 0 && close < 0)
        {
            if (scope.SamplesPerMessage > 1)
            {
                throw new InvalidDataException($"{scope.Where}: \"{template}\" has no [[ ]] although a message holds {scope.SamplesPerMessage} samples; expected the part for one sample in [[ ]]");
            }
            (_before, _repeated, _after) = (Parse(template, scope, false), [], []);
            return;
        }
        bool once = open >= 0 && close > open && template.IndexOf("[[", open + 2, StringComparison.Ordinal) < 0
            && template.IndexOf("]]", close + 2, StringComparison.Ordinal) < 0;
        if (!once || scope.Channels.Count == 0)
        {
            throw new InvalidDataException($"{scope.Where}: \"{template}\": [[ ]] is not used as expected: once, in the sample message");
        }
        _before = Parse(template[..open], scope, false);
        _repeated = Parse(template[(open + 2)..close], scope, true);
        _after = Parse(template[(close + 2)..], scope, false);
    }

    public override byte[] Encode(in OutgoingValues values, int samples)
    {
        var buffer = new ArrayBufferWriter<byte>(64);
        Write(_before, values, 0, buffer);
        for (int i = 0; _repeated.Length > 0 && i < samples; i++) { Write(_repeated, values, i, buffer); }
        Write(_after, values, 0, buffer);
        return buffer.WrittenSpan.ToArray();
    }

    private static void Write(Piece[] pieces, in OutgoingValues values, int sample, ArrayBufferWriter<byte> buffer)
    {
        foreach (Piece piece in pieces)
        {
            if (piece.Source is not { } source)
            {
                buffer.Write(piece.Text);
                continue;
            }
            // Every value is a 64-bit number at most: 20 digits and a sign.
            Span<byte> digits = buffer.GetSpan(24);
            values.Of(source, sample).TryFormat(digits, out int written, default, CultureInfo.InvariantCulture);
            buffer.Advance(written);
        }
    }

    private static Piece[] Parse(string text, OutgoingScope scope, bool repeated)
    {
        var pieces = new List<Piece>();
        var literal = new StringBuilder();
        for (int at = 0; at < text.Length; at++)
        {
            char c = text[at];
            if (c is not ('{' or '}'))
            {
                literal.Append(c);
                continue;
            }
            if (at + 1 < text.Length && text[at + 1] == c)
            {
                literal.Append(c);
                at++;
                continue;
            }
            int end = c == '{' ? text.IndexOf('}', at) : -1;
            if (end < 0) { throw new InvalidDataException($"{scope.Where}: \"{text}\" has a single {c}; expected a name in braces, or the brace twice to send it"); }
            Flush();
            pieces.Add(new([], scope.Resolve(text[(at + 1)..end], repeated)));
            at = end;
        }
        Flush();
        return [.. pieces];

        void Flush()
        {
            if (literal.Length > 0) { pieces.Add(new(Encoding.UTF8.GetBytes(literal.ToString()), null)); }
            literal.Clear();
        }
    }
}
