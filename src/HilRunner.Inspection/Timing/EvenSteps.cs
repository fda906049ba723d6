using HilRunner.Inspection.Reading;

namespace HilRunner.Inspection.Timing;

/// <summary>The steps of a time column that are within half of the median step: mean, standard deviation (n − 1), largest distance from the mean.</summary>
internal sealed record EvenSteps(long Count, double MeanNs, double DeviationNs, double LargestNs)
{
    public double RateHz => 1e9 / MeanNs;

    /// <summary>Null with fewer than two such steps.</summary>
    public static EvenSteps? Of(InspectionContext context)
    {
        if (context.Recording.TimesNs is not { } times) { return null; }
        double median = context.Axis.StepNs;
        long count = 0;
        double sum = 0, squares = 0, least = double.MaxValue, most = double.MinValue;
        long before = InspectedRecording.NoTime;
        foreach (long now in times)
        {
            long last = before;
            before = now;
            if (now == InspectedRecording.NoTime || last == InspectedRecording.NoTime) { continue; }
            long step = now - last;
            if (!SampleAxis.IsEven(step, median)) { continue; }
            // Around the median, so that the squares of small differences are not lost beside those of long steps.
            double off = step - median;
            count++;
            sum += off;
            squares += off * off;
            least = Math.Min(least, off);
            most = Math.Max(most, off);
        }
        if (count < 2) { return null; }
        double mean = sum / count;
        double variance = Math.Max(0, (squares - count * mean * mean) / (count - 1));
        return new(count, median + mean, Math.Sqrt(variance), Math.Max(most - mean, mean - least));
    }
}
