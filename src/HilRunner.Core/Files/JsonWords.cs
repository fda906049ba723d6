using System.Text.Json;

namespace HilRunner.Core.Files;

/// <summary>
/// Looks through JSON before it is parsed: the parser's own error repeats a word that it does not know, however long it is.
/// </summary>
public static class JsonWords
{
    /// <summary>No number and no literal takes more characters.</summary>
    private const int Longest = 1000;

    /// <param name="text">UTF-8; need not be JSON.</param>
    /// <exception cref="JsonException">Something outside strings is longer than a number or a literal can be.</exception>
    public static void RefuseLong(ReadOnlySpan<byte> text)
    {
        int length = 0;
        long line = 0;
        bool inString = false;
        for (int i = 0; i < text.Length; i++)
        {
            byte b = text[i];
            if (b == '\n') { line++; }
            if (inString)
            {
                if (b == '\\') { i++; }
                else if (b == '"') { inString = false; }
                continue;
            }
            inString = b == '"';
            length = IsPunctuation(b) ? 0 : length + 1;
            if (length > Longest)
            {
                throw new JsonException($"a word of more than {Longest} characters that is no text", null, line, null);
            }
        }
    }

    /// <summary>A number as it is held; what is beyond every double would be read as infinite.</summary>
    /// <param name="name">Of its key, for what is told.</param>
    /// <exception cref="InvalidDataException">It is too large.</exception>
    public static double Finite(JsonElement number, string name) =>
        number.GetDouble() is var value && double.IsFinite(value) ? value
            : throw new InvalidDataException($"{name} is too large a number");

    private static bool IsPunctuation(byte b) =>
        b <= ' ' || b is (byte)'"' or (byte)',' or (byte)':' or (byte)'{' or (byte)'}' or (byte)'[' or (byte)']';
}
