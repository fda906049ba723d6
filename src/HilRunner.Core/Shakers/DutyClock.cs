namespace HilRunner.Core.Shakers;

/// <summary>How long a table has moved without a rest that counts. Times are of any one clock, in seconds.</summary>
internal sealed class DutyClock(Envelope envelope)
{
    private double _movedS, _since, _restFrom = double.NegativeInfinity;
    private bool _moves;

    public double MovedS(double atS) => _moves ? _movedS + atS - _since : atS - _restFrom >= envelope.Rest.TotalSeconds ? 0 : _movedS;

    /// <summary>From this moment on it moves, or rests.</summary>
    public void Pass(bool moves, double atS)
    {
        double moved = MovedS(atS);
        if (_moves && !moves) { _restFrom = atS; }
        (_moves, _since, _movedS) = (moves, atS, moved);
    }
}
