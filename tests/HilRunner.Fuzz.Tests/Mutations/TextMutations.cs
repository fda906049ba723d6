using System.Text;

namespace HilRunner.Fuzz.Tests.Mutations;

/// <summary>Damage to lines of text.</summary>
internal static class TextMutations
{
    // Bytes stay what they are, also where they are no UTF-8.
    private static readonly Encoding s_raw = Encoding.Latin1;

    public static byte[] Step(byte[] bytes, byte[] other, Random random)
    {
        var lines = Lines(bytes);
        int at = random.Next(lines.Count), to = random.Next(lines.Count);
        switch (random.Next(14))
        {
            case 0: lines.Insert(to, lines[at]); break;
            case 1: (lines[at], lines[to]) = (lines[to], lines[at]); break;
            case 2: lines.RemoveAt(at); break;
            case 3: lines.RemoveRange(at, Math.Min(random.Next(1, 8), lines.Count - at)); break;
            case 4:
                var others = Lines(other);
                int from = random.Next(others.Count);
                lines.InsertRange(at, others.GetRange(from, Math.Min(random.Next(1, 8), others.Count - from)));
                break;
            case 5: lines.Insert(at, Put(Nasty.Word(random))); break;
            case 6: lines[at] = Inside(lines[at], Put(Nasty.Word(random)), random); break;
            case 7: lines[at] = Inside(lines[at], Put(Nasty.Number(random)), random); break;
            case 8: lines[at] += "\0\u001b[2J\r"; break;
            // No UTF-8: a lone continuation byte, an overlong form, a surrogate.
            case 9: lines[at] = Inside(lines[at],
                random.Next(3) switch { 0 => "\u0080", 1 => "\u00c0\u00af", _ => "\u00ed\u00a0\u0080" }, random); break;
            case 10 when random.Next(6) == 0: lines[at] = Inside(lines[at], Put(Nasty.Long(random)), random); break;
            case 11 when random.Next(6) == 0: lines.InsertRange(at, Enumerable.Repeat(lines[at], random.Next(10, 3000))); break;
            case 12: return Number(bytes, random);
            case 13 when random.Next(4) == 0: return random.Next(3) switch { 0 => [0xff, 0xfe, .. bytes], 1 =>
                [0xef, 0xbb, 0xbf, .. bytes], _ => Encoding.Unicode.GetBytes(s_raw.GetString(bytes)) };
            default: lines[at] = lines[at].Length == 0 ? "\t" : lines[at][..random.Next(lines[at].Length)]; break;
        }
        return Joined(lines);
    }

    public static List<string> Lines(byte[] bytes) => [.. s_raw.GetString(bytes).Split('\n')];

    public static byte[] Joined(IEnumerable<string> lines) => s_raw.GetBytes(string.Join('\n', lines));

    /// <summary>As it stands in the bytes of a file.</summary>
    public static string Put(string text) => s_raw.GetString(Encoding.UTF8.GetBytes(text));

    /// <summary>A number for another one.</summary>
    private static byte[] Number(byte[] bytes, Random random)
    {
        if (bytes.Length == 0) { return bytes; }
        static bool Belongs(byte b) => b is >= (byte)'0' and <= (byte)'9' or (byte)'.';
        int from = Array.FindIndex(bytes, random.Next(bytes.Length), Belongs);
        if (from < 0) { return bytes; }
        int to = Array.FindIndex(bytes, from, b => !Belongs(b));
        return [.. bytes[..from], .. Encoding.UTF8.GetBytes(Nasty.Number(random)), .. bytes[(to < 0 ? bytes.Length : to)..]];
    }

    private static string Inside(string line, string put, Random random) => line.Insert(random.Next(line.Length + 1), put);
}
