namespace HilRunner.Scoring.Isolating;

/// <summary>
/// Finds the first bad image among many in order, where a bad one shows its fault only in some of the plays: a probability for each image to be the first, put right by Bayes' rule after every play; the next image is the one whose play is
/// expected to tell most (noisy binary search: Burnashev and Zigangirov 1974; Karp and Kleinberg, SODA 2007; Ben-Or and Hassidim, FOCS 2008). How often a bad image shows the fault is not known either: what was seen when the complaint
/// was reproduced is where that begins (a beta distribution), and every play puts it right, too.
/// </summary>
public sealed class NoisyBisection
{
    private const int Shares = 25;
    /// <summary>A good image that shows it all the same.</summary>
    private const double FalseAlarm = 0.002;
    private readonly double[,] _probability;
    private readonly double[] _share = new double[Shares];
    private readonly bool[] _skipped;
    private readonly int _images;

    /// <param name="images">In order, 2 or more: the first is good, the last is bad.</param>
    /// <param name="shown">In how many plays of the last image the fault showed, 1 or more.</param>
    /// <param name="played">Of so many.</param>
    public NoisyBisection(int images, int shown, int played)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(images, 2);
        ArgumentOutOfRangeException.ThrowIfLessThan(shown, 1);
        ArgumentOutOfRangeException.ThrowIfLessThan(played, shown);
        _images = images;
        _probability = new double[images, Shares];
        _skipped = new bool[images];
        for (int s = 0; s < Shares; s++)
        {
            _share[s] = (s + 0.5) / Shares;
            double weight = Math.Pow(_share[s], shown) * Math.Pow(1 - _share[s], played - shown);
            for (int i = 1; i < images; i++) { _probability[i, s] = weight; }
        }
        Normalise();
    }

    /// <summary>Plays so far.</summary>
    public int Plays { get; private set; }

    /// <summary>The image that is most likely the first bad one; of such as cannot be told apart, the first of them.</summary>
    public int First => MostLikely().From;

    /// <summary>Where images were left out: the last that it may be just as well.</summary>
    public int Last => MostLikely().To;

    /// <summary>How likely it lies from <see cref="First"/> to <see cref="Last"/>.</summary>
    public double Confidence => MostLikely().Probability;

    /// <summary>How likely the first bad image is this one or one before it.</summary>
    public double ProbabilityUpTo(int image) => Enumerable.Range(1, image).Sum(Marginal);

    /// <summary>The image to play next; null: no other one can be played, or would tell anything.</summary>
    public int? Next()
    {
        int? best = null;
        double most = 1e-9;
        for (int image = 1; image < _images - 1; image++)
        {
            if (_skipped[image]) { continue; }
            double told = Told(image);
            if (told > most) { (most, best) = (told, image); }
        }
        return best;
    }

    /// <summary>One play of an image.</summary>
    public void Add(int image, bool shown)
    {
        Plays++;
        for (int first = 1; first < _images; first++)
        {
            for (int s = 0; s < Shares; s++) { _probability[first, s] *= Likelihood(image, first, s, shown); }
        }
        Normalise();
    }

    /// <summary>It does not start, or cannot be prepared: nothing can be played on it.</summary>
    public void Skip(int image) => _skipped[image] = true;

    private double Likelihood(int image, int first, int s, bool shown)
    {
        double shows = image >= first ? _share[s] : FalseAlarm;
        return shown ? shows : 1 - shows;
    }

    /// <summary>Information that a play is expected to give on which image is the first, in bits.</summary>
    private double Told(int image)
    {
        double shown = 0, before = 0, withShown = 0, without = 0;
        var after = new double[_images];
        for (int first = 1; first < _images; first++)
        {
            double all = 0;
            for (int s = 0; s < Shares; s++)
            {
                all += _probability[first, s];
                after[first] += _probability[first, s] * Likelihood(image, first, s, true);
            }
            shown += after[first];
            before += Entropy(all);
        }
        for (int first = 1; first < _images; first++)
        {
            withShown += Entropy(after[first] / shown);
            without += Entropy((Marginal(first) - after[first]) / (1 - shown));
        }
        return before - shown * withShown - (1 - shown) * without;
    }

    private (int From, int To, double Probability) MostLikely()
    {
        var best = (From: 1, To: 1, Probability: -1.0);
        for (int first = 1; first < _images; first++)
        {
            // Behind images that cannot be played: any of them may be the first just as well.
            int from = first;
            double sum = Marginal(first);
            while (from > 1 && _skipped[from - 1]) { sum += Marginal(--from); }
            if (_skipped[first]) { continue; }
            if (sum > best.Probability) { best = (from, first, sum); }
        }
        return best;
    }

    private double Marginal(int first)
    {
        double sum = 0;
        for (int s = 0; s < Shares; s++) { sum += _probability[first, s]; }
        return sum;
    }

    private void Normalise()
    {
        double sum = 0;
        foreach (double p in _probability) { sum += p; }
        for (int i = 0; i < _images; i++)
        {
            for (int s = 0; s < Shares; s++) { _probability[i, s] /= sum; }
        }
    }

    private static double Entropy(double p) => p > 0 ? -p * Math.Log2(p) : 0;
}
