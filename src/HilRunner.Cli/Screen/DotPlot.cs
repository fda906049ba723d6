using System.Text;
using HilRunner.Application.Recorders;

namespace HilRunner.Cli.Screen;

/// <summary>A trace in Braille dots, 2 across and 4 down in each character: for terminals that cannot draw.</summary>
internal static class DotPlot
{
    private const int DotsAcross = 2;
    private const int DotsDown = 4;
    /// <summary>Unicode 2800 and up: bit of the dot in column c, row r (The Unicode Standard, Braille Patterns).</summary>
    private static readonly int[,] s_bits = { { 0x01, 0x02, 0x04, 0x40 }, { 0x08, 0x10, 0x20, 0x80 } };

    /// <param name="least">The smallest span that fills the height, so that noise at rest looks like rest.</param>
    /// <returns>Lines of <paramref name="columns"/> characters, newest at the right; and the span drawn.</returns>
    public static (string[] Lines, double Low, double High) Draw(MotionTrace trace, int channel, int columns, int rows, double least)
    {
        int dots = columns * DotsAcross;
        double low = double.PositiveInfinity, high = double.NegativeInfinity;
        for (int back = 0; back < dots && trace.TryGet(channel, back, out double l, out double h); back++)
        {
            (low, high) = (Math.Min(low, l), Math.Max(high, h));
        }
        if (low > high) { (low, high) = (0, 0); }
        double missing = Math.Max(0, least - (high - low));
        (low, high) = (low - missing / 2, high + missing / 2);
        var cells = new int[rows, columns];
        for (int back = 0; back < dots && trace.TryGet(channel, back, out double l, out double h); back++)
        {
            int x = dots - 1 - back;
            int top = Row(h, low, high, rows * DotsDown), bottom = Row(l, low, high, rows * DotsDown);
            for (int y = top; y <= bottom; y++) { cells[y / DotsDown, x / DotsAcross] |= s_bits[x % DotsAcross, y % DotsDown]; }
        }
        var lines = new string[rows];
        for (int row = 0; row < rows; row++)
        {
            var line = new StringBuilder(columns);
            for (int column = 0; column < columns; column++) { line.Append((char)(0x2800 + cells[row, column])); }
            lines[row] = line.ToString();
        }
        return (lines, low, high);
    }

    private static int Row(double value, double low, double high, int height) =>
        Math.Clamp((int)((high - value) / (high - low) * (height - 1) + 0.5), 0, height - 1);
}
