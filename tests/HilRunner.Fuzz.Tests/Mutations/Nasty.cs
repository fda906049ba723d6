using System.Text;

namespace HilRunner.Fuzz.Tests.Mutations;

/// <summary>Values that readers are seldom ready for.</summary>
internal static class Nasty
{
    /// <summary>
    /// Paths outside the folder of a case: none of them may be written, and the first is looked at after each case.
    /// </summary>
    public const string CanaryPath = "../canary/kept.csv";

    private static readonly string[] s_numbers =
    [
        "0", "-0", "-1", "1", "2147483647", "2147483648", "-2147483649", "9223372036854775807", "9223372036854775808",
            "18446744073709551616", "99999999999999999999999999999999", "1e308", "1e309", "-1e309", "1e-400",
        "79228162514264337593543950335", "1e28", "NaN", "nan", "Infinity", "-inf", ".inf", ".nan", "0x7fffffffffffffff", "0o777",
            "1_000", "+5", "1700000000000", "1700000000000000000",
                "0.1000000000000000055511151231257827021181583404541015625", "٣", "1,5",
    ];

    private static readonly string[] s_words =
    [
        "", " ", "~", "null", "true", "no", "[]", "{}", "[", "{", "]", "}", "\"", "'", ":", "- ", "? ", "#", "!!binary x",
            "!t x", "&a x", "*a", "<<: *a", "---", "...", "%YAML 9.9", "|", ">-", "\\", "\\u0000", "=cmd|' /C calc'!A0",
        CanaryPath, "/dev/zero", "/dev/stdin", "/dev/null", "/proc/self/mem", "a/../../../b", "\u001b[31mred",
            "\u001b]0;title\u0007", "\r", "\u0085\u2028", "\u202e",
                "\ud83d\ude00", "é", "\u0000", "12 s", "-3 g", "1e9 h", "1000000000000000 Hz",
        "0.000000001 Hz", "usb:0000:0000", "process:touch canary", "{process: [touch, canary]}",
            "{adapter: {program: touch, args: [canary]}}", "^(a+)+$", "(?<n>", "{n}", "{}",
    ];

    public static string Number(Random random) => s_numbers[random.Next(s_numbers.Length)];

    public static string Word(Random random) => random.Next(40) switch
    {
        0 => new('9', random.Next(20, 400)),
        1 => new('a', random.Next(100, 5000)),
        2 => Deep("[", random.Next(10, 3000)),
        3 => Deep("{a: ", random.Next(10, 3000)),
        4 => Deep("- ", random.Next(10, 300)),
        < 18 => Number(random),
        _ => s_words[random.Next(s_words.Length)],
    };

    /// <summary>Seldom: more than any reader should hold as one line.</summary>
    public static string Long(Random random)
    {
        string piece = Word(random) + ",";
        int length = random.Next(60) == 0 ? 18 << 20 : random.Next(1000, 200_000);
        return new StringBuilder().Insert(0, piece, Math.Max(1, length / piece.Length)).ToString();
    }

    private static string Deep(string opening, int depth) => new StringBuilder().Insert(0, opening, depth).ToString();
}
